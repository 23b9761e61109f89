package panel_test

import (
	"encoding/base64"
	"net/url"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/panel"
)

// preview fetches the light of a look.
func (d *desk) preview(t testing.TB, query string) (p panel.LookPreview, light []byte) {
	t.Helper()
	p = read[panel.LookPreview](t, d.compose(t, "GET", "/look?"+query, "", ""), 200)
	light, err := base64.StdEncoding.DecodeString(p.Light)
	require.NoError(t, err)
	return p, light
}

// The light of a look is what its levels say, in the shape of moments; it follows edits
// before they are saved, and a song's colours.
func TestLookPreview(t *testing.T) {
	d := newDesk(t)
	head := func(light []byte, i int) []byte { return light[i*panel.HeadBytes : (i+1)*panel.HeadBytes] }
	was, light := d.preview(t, "look=tide&effects=none")
	require.Len(t, light, panel.HeadBytes*16)
	assert.Equal(t, "tide", was.Look)
	assert.EqualValues(t, 153, head(light, 0)[3], "wash 1: 60 %")
	assert.EqualValues(t, 179, head(light, 4)[3], "wash 5: 70 %")
	assert.Greater(t, head(light, 0)[2], head(light, 0)[0], "the house's main colour is blue")
	_, song := d.preview(t, "look=tide&effects=none&song=songs/lanterns.yaml")
	assert.NotEqual(t, head(light, 4)[:3], head(song, 4)[:3], "the song's second colour")
	assert.Equal(t, head(light, 4)[3], head(song, 4)[3])

	edit := `{"edits": [{"do": "set look level", "look": "tide", "on": "front truss", "level": "intensity", "to": "20 %"}]}`
	c := read[changed](t, d.compose(t, "POST", "/edit", d.tag(t), edit), 200)
	now, light := d.preview(t, "look=tide&effects=none")
	assert.EqualValues(t, 51, head(light, 0)[3])
	assert.Equal(t, c.State.Tag, now.Tag)
	assert.Less(t, now.Brightness, was.Brightness)
}

// Looks are measured as the preview is, and those of the demo that songs use go from dark to bright.
func TestLooksMeasured(t *testing.T) {
	d := newDesk(t)
	m := read[panel.LooksMeasured](t, d.compose(t, "GET", "/looks", "", ""), 200)
	bright := map[string]float64{}
	for _, l := range m.Looks {
		bright[l.Look] = l.Brightness
	}
	require.Len(t, bright, 11)
	one, _ := d.preview(t, "look=tide&effects=none")
	assert.InDelta(t, one.Brightness, bright["tide"], 0)
	order := []string{"dark", "embers", "tide", "singalong", "full sail"}
	for i := range order[1:] {
		assert.Less(t, bright[order[i]], bright[order[i+1]], order[i+1])
	}
}

// Each type of the demo reaches every colour; each says what it makes of one, in words.
func TestReachesAndColours(t *testing.T) {
	d := newDesk(t)
	r := read[panel.Reaches](t, d.compose(t, "GET", "/reaches", "", ""), 200)
	require.Len(t, r.Types, 4)
	for _, k := range r.Types {
		b, err := base64.StdEncoding.DecodeString(k.Differences)
		require.NoError(t, err)
		require.Len(t, b, r.Hues*r.Saturations)
		for _, v := range b {
			assert.Less(t, float64(v)/10, r.From, k.Type)
		}
	}
	assert.Equal(t, []int32{0, 1, 2, 3}, r.Types[0].Heads)
	for text, shown := range map[string]string{"#ff8040": "#ff8040", "gold": "#ffd700", "rebeccapurple": "#663399"} { // CSS Color Module Level 4, 6.1
		m := read[panel.ColourMixed](t, d.compose(t, "GET", "/colour?colour="+url.QueryEscape(text), "", ""), 200)
		assert.Equal(t, text, m.Colour.Written)
		assert.Equal(t, shown, m.Colour.Shown)
		require.Len(t, m.Types, 4)
		for _, k := range m.Types {
			assert.True(t, k.Reached, k.Type)
			assert.Equal(t, "as asked", k.Words, k.Type)
		}
	}
	for _, text := range []string{"", "mud", "#ff80", "<b>red</b>", "900 K"} {
		a := d.compose(t, "GET", "/colour?colour="+url.QueryEscape(text), "", "")
		assert.Equal(t, 422, a.status, text)
		assert.Contains(t, string(a.body), "is no colour: want such as", text)
	}
}
