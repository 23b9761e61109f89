package panel_test

import (
	"encoding/json"
	"net/url"
	"os"
	"regexp"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/panel"
	"tactus/shows/language"
)

// drawn asks for an effect.
func (d *desk) drawn(t *testing.T, query string) panel.EffectDrawn {
	t.Helper()
	return read[panel.EffectDrawn](t, d.compose(t, "GET", "/effect?"+query, "", ""), 200)
}

// An effect is drawn as it is edited; a song gives its meter and colours.
func TestEffectIsDrawnAsEdited(t *testing.T) {
	d := newDesk(t)
	sway := d.drawn(t, "effect=sway&song=songs/saturday.yaml")
	assert.Equal(t, "bars", sway.Unit)
	assert.Equal(t, 2.0, sway.Count)
	assert.Equal(t, [2]float64{1, 0}, sway.Edge)
	assert.Equal(t, 0.45, sway.Depth)
	assert.Len(t, sway.Heads, 8)
	assert.Equal(t, 0.0, sway.Wave[0])
	assert.InDelta(t, 1, sway.Wave[128], 1e-3, "a triangle is high in its middle")
	assert.InDelta(t, 0.55, sway.Light[0], 1e-3)
	assert.Nil(t, sway.Flashes)
	assert.Empty(t, sway.Colours)

	edit := `{"edits": [{"do": "set effect", "effect": "sway", "key": "depth", "to": "100 %"}, {"do": "set effect", "effect": "sway", "key": "period", "to": "1/4 beat"}]}`
	read[changed](t, d.compose(t, "POST", "/edit", d.tag(t), edit), 200)
	fast := d.drawn(t, "effect=sway&flashes=yes")
	assert.Equal(t, 1.0, fast.Depth)
	assert.Equal(t, 0.25, fast.Beats)
	require.NotNil(t, fast.Flashes)
	assert.True(t, fast.Flashes.Held)
	assert.Greater(t, fast.Flashes.Wanted, 3.0)
	assert.Equal(t, 3, fast.Flashes.Limit)
	assert.NotEmpty(t, fast.Flashes.Song)

	still := d.drawn(t, "effect=slow%20breathe&flashes=yes")
	require.NotNil(t, still.Flashes)
	assert.False(t, still.Flashes.Held)
	assert.Equal(t, 1, still.Steps, "all together")

	swing := d.drawn(t, "effect=colour%20swing&song=songs/lanterns.yaml")
	other := d.drawn(t, "effect=colour%20swing&song=songs/saturday.yaml")
	assert.NotEqual(t, swing.Colours, other.Colours)
	assert.True(t, swing.Repeats)

	noise := d.drawn(t, "effect=far%20lightning&period=0")
	next := d.drawn(t, "effect=far%20lightning&period=1")
	assert.False(t, noise.Repeats)
	assert.NotEqual(t, noise.Wave, next.Wave)
}

// What cannot be drawn is refused in words.
func TestEffectIsRefused(t *testing.T) {
	d := newDesk(t)
	for query, want := range map[string]string{
		"":                       `the show has no such effect`,
		"effect=fog":             `the show has no such effect`,
		"effect=sway&song=fog":   `want the file of a song`,
		"effect=sway&period=-1":  `want the number of a period`,
		"effect=sway&period=9e9": `want the number of a period`,
		"effect=" + url.QueryEscape("<script>\"'"): `no such effect`,
	} {
		a := d.compose(t, "GET", "/effect?"+query, "", "")
		assert.Equal(t, 422, a.status, query)
		assert.Contains(t, string(a.body), want)
	}
}

// The room for effects has a control for every key that an effect may have, and the range
// of each whole number is that of the show language.
func TestEffectsRoomHasEveryKey(t *testing.T) {
	var schema struct {
		Properties struct {
			Effects struct {
				Each struct {
					Properties map[string]struct {
						Type             string
						Minimum, Maximum *int
						Enum             []string
					}
				} `json:"additionalProperties"`
			}
		}
	}
	require.NoError(t, json.Unmarshal(language.Schema(language.LooksFile), &schema))
	keys := schema.Properties.Effects.Each.Properties
	require.NotEmpty(t, keys)
	src, err := os.ReadFile("page/effect-keys.js")
	require.NoError(t, err)
	for key, want := range keys {
		row := regexp.MustCompile(`(?m)^  \{ key: "` + key + `", .*$`).FindString(string(src))
		if !assert.NotEmpty(t, row, "no control for %q", key) {
			continue
		}
		if want.Type == "integer" {
			bounds, err := json.Marshal([]int{*want.Minimum, *want.Maximum})
			require.NoError(t, err)
			assert.Contains(t, row, "range: "+regexp.MustCompile(`,`).ReplaceAllString(string(bounds), ", "), key)
		}
		for _, word := range want.Enum {
			assert.Contains(t, string(src), `"`+word+`"`, key)
		}
	}
}
