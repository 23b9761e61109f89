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
	"tactus/engine"
	"tactus/engine/flash"
	"tactus/fixtures"
	"tactus/shows/plan"
	"tactus/shows/sheet"
	"tactus/shows/showtest"
)

// TestScale: time lies evenly and inside.
func TestScale(t *testing.T) {
	s := scale{40, 200, 100 * clock.Second}
	for at, want := range map[clock.Time]float64{0: 40, 50 * clock.Second: 140, 100 * clock.Second: 240, -clock.Second: 40, 101 * clock.Second: 240} {
		assert.Equal(t, want, s.at(at), "at %v", at)
	}
	assert.Equal(t, 40.0, (scale{40, 200, 0}).at(clock.Second), "a song without length")
	for n, want := range map[int]int{10: 1, 80: 2, 400: 16} {
		assert.Equal(t, want, s.step(n, 5), "%d bars: a number every", n)
	}
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

// TestBrighterIsThicker is what makes a picture readable without colour: on any
// hue, more light covers more of the line, in both formats.
func TestBrighterIsThicker(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		hue := fixtures.RGB{rapid.Float64Range(0.1, 1).Draw(t, "r"), rapid.Float64Range(0, 1).Draw(t, "g"), rapid.Float64Range(0, 1).Draw(t, "b")}
		dimmer := rapid.Float64Range(0, 0.7).Draw(t, "dim")
		d := score{Sheet: sheet.New(sheet.Papers()[0], "", ""), time: scale{10, 200, clock.Second}}
		for _, level := range []float64{dimmer, dimmer + 0.2} {
			y := level * 100 / 903.3 // CIE 15: the luminance of a lightness
			if level > 0.08 {
				y = math.Pow((level*100+16)/116, 3)
			}
			y /= flash.Luminance(hue)
			d.columns = append(d.columns, &plan.Column{Lights: []fixtures.RGB{{hue[0] * y, hue[1] * y, hue[2] * y}}})
		}
		d.row(&row{"", "", []int32{0}}, 20, 8, 0)
		img := d.Pixels(75)
		ground := color.RGBA{uint8(sheet.Rest >> 16), uint8(sheet.Rest >> 8 & 0xff), uint8(sheet.Rest & 0xff), 255}
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

// TestWhiteLightShows: white light differs from its ground by the 3 : 1 that WCAG 2.2,
// 1.4.11, asks of graphics.
func TestWhiteLightShows(t *testing.T) {
	d := score{Sheet: sheet.New(sheet.Papers()[0], "", ""), time: scale{10, 200, clock.Second}}
	d.columns = []*plan.Column{{Lights: []fixtures.RGB{{0.2, 0.2, 0.2}}}}
	d.row(&row{"", "", []int32{0}}, 20, 8, 0)
	img := d.Pixels(75)
	at := func(y float64) float64 {
		c := img.RGBAAt(300, int(y/25.4*75))
		var linear [3]float64
		for i, v := range [3]uint8{c.R, c.G, c.B} {
			linear[i] = fixtures.DecodeSRGB(float64(v) / 255)
		}
		return flash.Luminance(linear)
	}
	light, ground := at(23), at(20.4)
	assert.GreaterOrEqual(t, (light+0.05)/(ground+0.05), 3.0)
}

// TestLookNames: looks are named from where they begin to where another does; a cue of
// the same look, or one that only sends, begins none.
func TestLookNames(t *testing.T) {
	show := showtest.Demo(t)
	i := slices.IndexFunc(show.Program.Songs, func(s engine.Song) bool { return s.Name == "Lanterns on the Pier" })
	require.GreaterOrEqual(t, i, 0)
	written := &show.Program.Songs[i]
	d := score{Sheet: sheet.New(sheet.Papers()[0], "", ""), written: written}
	d.song = &plan.Song{Length: written.Length(), Time: written.TimeAt(written.Length())}
	var got []string
	spans := d.lookSpans()
	for n, s := range spans {
		got = append(got, s.name)
		if n > 0 {
			assert.Equal(t, spans[n-1].to, s.from, "%s begins where %s ends", s.name, spans[n-1].name)
		}
	}
	assert.Equal(t, []string{"embers", "tide", "singalong", "dark", "tide", "singalong", "embers", "dark"}, got)
	assert.Equal(t, d.song.Time, spans[len(spans)-1].to)
	for _, c := range []struct {
		room float64
		want string
	}{{20, "singalong"}, {9.5, "singalong"}, {6, "sing…"}, {2, ""}} {
		text, size := d.lookName("singalong", c.room)
		assert.Equal(t, c.want, text, "in %v mm", c.room)
		assert.LessOrEqual(t, d.Width(text, size, false), c.room)
	}
}

// TestHeadRows: the demo's heads stand in their trusses, each once.
func TestHeadRows(t *testing.T) {
	show := showtest.Demo(t)
	var got []string
	seen := map[int32]bool{}
	for _, r := range headRows(show) {
		if len(got) == 0 || got[len(got)-1] != r.group {
			got = append(got, r.group)
		}
		seen[r.heads[0]] = true
	}
	assert.Equal(t, "front truss|back truss|left truss|right truss|fronts|", strings.Join(got, "|"))
	assert.Len(t, seen, len(show.Program.Heads))
}
