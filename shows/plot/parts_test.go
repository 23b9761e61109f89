package plot

import (
	"image/color"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tactus/clock"
	"tactus/fixtures"
	"tactus/shows"
	"tactus/shows/sheet"
)

// TestScale: time lies evenly and inside.
func TestScale(t *testing.T) {
	s := scale{40, 200, 100 * clock.Second}
	for at, want := range map[clock.Time]float64{0: 40, 50 * clock.Second: 140, 100 * clock.Second: 240, -clock.Second: 40, 101 * clock.Second: 240} {
		assert.Equal(t, want, s.at(at), "at %v", at)
	}
	assert.Equal(t, 40.0, (scale{40, 200, 0}).at(clock.Second), "a song without length")
	for n, want := range map[int]int{10: 1, 80: 2, 400: 16} {
		assert.Equal(t, want, s.step(make([]Bar, n), 5), "%d bars: a number every", n)
	}
	assert.Equal(t, "2:06", minutes(125*clock.Second+600*clock.Millisecond))
}

// TestLabels: names of sections never leave their room, and what does not fit is
// shortened or turned.
func TestLabels(t *testing.T) {
	for _, c := range []struct {
		name   string
		room   float64
		text   string
		turned bool
	}{
		{"chorus 2", 40, "chorus 2", false},
		{"pre-chorus", 16, "pre-chorus", false},
		{"breakdown", 9, "break…", false},
		{"breakdown", 3, "brea…", true},
		{"breakdown", 1, "", false},
	} {
		d := score{Sheet: sheet.New(sheet.Papers()[0], "", "")}
		d.label(0, 10, c.room, c.name)
		var got sheet.Words
		for _, m := range d.Marks {
			if w, ok := m.(sheet.Words); ok {
				got = w
			}
		}
		assert.Equal(t, c.text, got.Text, "%s in %v mm", c.name, c.room)
		assert.Equal(t, c.turned, got.Turned, "%s in %v mm", c.name, c.room)
		if !got.Turned {
			assert.LessOrEqual(t, got.Wide, c.room, "%s in %v mm", c.name, c.room)
		}
	}
}

// TestPinsApart: numbers of notes at one place stand beside one another.
func TestPinsApart(t *testing.T) {
	n := small()
	n.Songs[0].Notes = slices.Repeat([]Note{{At: clock.Second, Words: "x"}}, 30)
	var at []sheet.Disc
	for _, m := range n.Score(0, sheet.Papers()[0]).Marks {
		if d, ok := m.(sheet.Disc); ok && d.R > 1.8 {
			at = append(at, d)
		}
	}
	require.Len(t, at, 30)
	for i := 1; i < len(at); i++ {
		assert.GreaterOrEqual(t, at[i].X-at[i-1].X, at[i].R*2, "%d and %d are %v mm apart", i, i+1, at[i].X-at[i-1].X)
	}
}

// TestInk: hue without brightness, as IEC 61966-2-1 encodes it.
func TestInk(t *testing.T) {
	for _, c := range []struct {
		light fixtures.RGB
		want  sheet.Ink
	}{
		{fixtures.RGB{1, 1, 1}, 0xffffff},
		{fixtures.RGB{0.01, 0.01, 0.01}, 0xffffff},
		{fixtures.RGB{0.5, 0, 0}, 0xff0000},
		{fixtures.RGB{1, 0.2158605, 0}, 0xff8000}, // sRGB 128 is 0.21586 of full
		{fixtures.RGB{}, 0},
		{fixtures.RGB{math.NaN(), math.Inf(1), -1}, 0},
	} {
		assert.Equal(t, c.want, sheet.InkOf(c.light), c.light)
	}
}

// TestBrighterIsThicker is what makes a picture readable without colour: on any
// hue, more light covers more of the line, in both formats.
func TestBrighterIsThicker(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		hue := fixtures.RGB{rapid.Float64Range(0.1, 1).Draw(t, "r"), rapid.Float64Range(0, 1).Draw(t, "g"), rapid.Float64Range(0, 1).Draw(t, "b")}
		dimmer := rapid.Float64Range(0, 0.7).Draw(t, "dim")
		d := score{Sheet: sheet.New(sheet.Papers()[0], "", ""), time: scale{10, 200, clock.Second}}
		d.row(&Row{"", "", []float64{dimmer, dimmer + 0.2}, []fixtures.RGB{hue, hue}}, 20, 8, 0)
		img := d.Pixels(75)
		ground := color.RGBA{0xe2, 0xe2, 0xe2, 255}
		thick := func(mm float64) (n int) {
			for y := range img.Rect.Dy() {
				at := float64(y) / 75 * 25.4
				if at > 20.7 && at < 27.3 && img.RGBAAt(int(mm/25.4*75), y) != ground {
					n++
				}
			}
			return n
		}
		assert.Greater(t, thick(160), thick(60), "%v, %v", dimmer, dimmer+0.2)
	})
}

// TestVoices: the demo's heads stand in their trusses, each once.
func TestVoices(t *testing.T) {
	show, problems := shows.Load(shows.Demo(), shows.Options{})
	require.NoError(t, problems.Err())
	var got []string
	seen := map[int]bool{}
	for _, v := range voices(show) {
		if len(got) == 0 || got[len(got)-1] != v.group {
			got = append(got, v.group)
		}
		seen[v.head] = true
	}
	assert.Equal(t, "front truss|back truss|left truss|right truss|fronts|", strings.Join(got, "|"))
	assert.Len(t, seen, len(show.Program.Heads))
}
