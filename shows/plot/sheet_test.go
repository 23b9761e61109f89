package plot_test

import (
	"bytes"
	"encoding/xml"
	"errors"
	"image/png"
	"io"
	"slices"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tactus/clock"
	"tactus/engine"
	"tactus/fixtures"
	"tactus/shows"
	"tactus/shows/plan"
	"tactus/shows/plot"
	"tactus/shows/sheet"
	"tactus/shows/showtest"
)

// wellFormed reads an SVG as XML, and finds no number that is none.
func wellFormed(t rapid.TB, src []byte) {
	t.Helper()
	d := xml.NewDecoder(bytes.NewReader(src))
	for {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			return
		}
		require.NoError(t, err)
		if e, ok := token.(xml.StartElement); ok {
			for _, a := range e.Attr {
				require.NotContains(t, a.Value, "NaN", "%s %s", e.Name.Local, a.Name.Local)
				require.NotContains(t, a.Value, "Inf", "%s %s", e.Name.Local, a.Name.Local)
			}
		}
	}
}

// TestAnyNightDraws draws nights of all sizes: it must not panic, and what comes
// out can be read.
func TestAnyNightDraws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		heads := rapid.SampledFrom([]int{0, 1, 2, 12}).Draw(t, "heads")
		n := nightOf(rapid.String().Draw(t, "show"), rapid.String().Draw(t, "set"), heads)
		for _, name := range []string{"front truss", "b"} {
			g := shows.Group{Name: name}
			for h := range heads {
				if rapid.Bool().Draw(t, "in the group") {
					g.Heads = append(g.Heads, int32(h))
				}
			}
			n.Show.Groups = append(n.Show.Groups, g)
		}
		for range rapid.IntRange(0, 3).Draw(t, "songs") {
			anySong(t, n)
		}
		p := sheet.Papers()[rapid.IntRange(0, 1).Draw(t, "paper")]
		both := []*sheet.Sheet{plot.Overview(n, p)}
		if len(n.Songs) > 0 {
			both = append(both, plot.Score(n, 0, p))
		}
		for _, s := range both {
			wellFormed(t, s.SVG())
			if !rapid.Bool().Draw(t, "pixels too") { // they take longest
				continue
			}
			_, err := s.PNG(sheet.LeastDPI)
			require.NoError(t, err)
		}
	})
}

// anySong adds a song to a night.
func anySong(t *rapid.T, n *plan.Night) {
	sections, bars := make([]plan.Section, rapid.SampledFrom([]int{0, 1, 2, 9, 20}).Draw(t, "sections")), []int{}
	for i := range sections {
		sections[i] = plan.Section{Name: rapid.StringN(1, 30, -1).Draw(t, "section"), Energy: rapid.Int8Range(-1, 11).Draw(t, "energy")}
		sections[i].Strength = rapid.Float64Range(-1, 11).Draw(t, "strength")
		bars = append(bars, rapid.SampledFrom([]int{1, 2, 15}).Draw(t, "bars"))
	}
	bpm := rapid.Float64Range(20, 300).Draw(t, "tempo")
	written, s := songOf(rapid.String().Draw(t, "name"), int32(len(n.Songs)), engine.Meter{Upper: 4, Lower: 4}, bpm, sections, bars...)
	heads := len(n.Heads)
	columns := rapid.SampledFrom([]int{0, 1, 7, 40}).Draw(t, "columns")
	for c := range columns {
		lights := make([]fixtures.RGB, heads)
		if c == columns/2 {
			for h := range lights {
				lights[h] = fixtures.RGB{rapid.Float64Range(-1, 2).Draw(t, "red"), 0, -1}
			}
		}
		s.Columns = append(s.Columns, plan.Column{Lights: lights, Brightness: rapid.Float64Range(-10, 110).Draw(t, "brightness")})
	}
	s.Frames = columns
	for range rapid.SampledFrom([]int{0, 1, 30}).Draw(t, "findings") {
		s.Findings = append(s.Findings, plan.Finding{
			Kind: rapid.SampledFrom([]plan.Kind{plan.Flashing, plan.Flat}).Draw(t, "kind"), Severity: plan.Error, Place: "here",
			Beat: clock.Beat(rapid.Int64Range(-10, 10000).Draw(t, "at")) * clock.Quarter / 1000, Reason: rapid.String().Draw(t, "reason"),
		})
	}
	n.Songs = append(n.Songs, s)
	n.Show.Program.Songs = append(n.Show.Program.Songs, written)
}

// TestAnyStageDraws does the same for rigs: without places, all in one, far away.
func TestAnyStageDraws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		heads := rapid.SampledFrom([]int{1, 2, 30}).Draw(t, "heads")
		far := rapid.SampledFrom([]float64{0, 0.01, 5, 400}).Draw(t, "far")
		places := make([]engine.Point, heads)
		for h := range places {
			places[h] = engine.Point{X: rapid.Float64Range(-far, far).Draw(t, "x"), Y: rapid.Float64Range(-far, far).Draw(t, "y"), Z: rapid.Float64Range(0, 9).Draw(t, "z")}
		}
		show := stageOf(t, places)
		show.Venue, show.Program.Name = rapid.String().Draw(t, "venue"), rapid.String().Draw(t, "show")
		s := plot.Stage(show, sheet.Papers()[0])
		wellFormed(t, s.SVG())
		apart(t, s)
		if !rapid.Bool().Draw(t, "pixels too") {
			return
		}
		_, err := s.PNG(sheet.LeastDPI)
		require.NoError(t, err)
	})
}

// apart checks that no words of a sheet stand on other words. An x-height is half of
// the size, or a bit more, in the embedded fonts: words without ascenders are as high.
func apart(t rapid.TB, s *sheet.Sheet) {
	t.Helper()
	type room struct {
		left, right, top, bottom float64
		text                     string
	}
	var seen []room
	for _, m := range s.Marks {
		w, ok := m.(sheet.Words)
		if !ok {
			continue
		}
		left := w.X - w.Wide*[...]float64{sheet.Start: 0, sheet.Middle: 0.5, sheet.End: 1}[w.Side]
		r := room{left, left + w.Wide, w.Y - 0.5*w.Size, w.Y, w.Text}
		for _, o := range seen {
			if r.left < o.right && o.left < r.right && r.top < o.bottom && o.top < r.bottom {
				require.Fail(t, "words on words", "%q and %q", r.text, o.text)
			}
		}
		seen = append(seen, r)
	}
}

// TestDemoStage: every head of the demo has its name beside its symbol and in the
// table, its group once, and nothing stands on anything.
func TestDemoStage(t *testing.T) {
	show := showtest.Demo(t)
	s := plot.Stage(show, sheet.Papers()[0])
	apart(t, s)
	count := map[string]int{}
	for _, m := range s.Marks {
		if w, ok := m.(sheet.Words); ok {
			count[w.Text]++
		}
	}
	inKey := map[string]int{}
	for _, f := range show.Program.Patch.Placements() {
		inKey[f.Profile.Name] = 1
	}
	for i := range show.Program.Heads {
		h := &show.Program.Heads[i]
		assert.Equal(t, 2+inKey[h.Name], count[h.Name], h.Name)
	}
	for _, want := range []string{"house left", "house right", "audience", "back of the stage", "front of the stage", "3 fixtures, one colour", "1 fixture, no light"} {
		assert.Equal(t, 1, count[want], want)
	}
}

// TestLargest: 500 heads over 128 sections, and 500 heads on a stage.
func TestLargest(t *testing.T) {
	n := nightOf("Long", "Night", 500)
	sections, bars, lights := make([]plan.Section, 128), make([]int, 128), make([]fixtures.RGB, 500)
	for i := range sections {
		sections[i], bars[i] = plan.Section{Name: "verse " + strconv.Itoa(i+1), Energy: 5, Measures: plan.Measures{Strength: 5}}, 1
	}
	places := make([]engine.Point, 500)
	for h := range places {
		if h%5 == 0 {
			n.Show.Groups = append(n.Show.Groups, shows.Group{Name: "group " + strconv.Itoa(h/5), Heads: []int32{int32(h), int32(h + 1), int32(h + 2), int32(h + 3), int32(h + 4)}})
		}
		lights[h] = fixtures.RGB{1, 1, 1}
		places[h] = engine.Point{X: float64(h%25) / 2, Y: float64(h/25) / 2, Z: 4}
	}
	written, s := songOf("Long Night", 0, engine.Meter{Upper: 4, Lower: 4}, 240, sections, bars...)
	n.Show.Program.Songs = []engine.Song{written}
	s.Frames, s.Columns = 50, slices.Repeat([]plan.Column{{Lights: lights, Brightness: 100}}, 50)
	n.Songs = slices.Repeat([]plan.Song{s}, 12)
	for _, drawn := range []*sheet.Sheet{plot.Score(n, 0, sheet.Papers()[0]), plot.Overview(n, sheet.Papers()[0]), plot.Stage(stageOf(t, places), sheet.Papers()[0])} {
		wellFormed(t, drawn.SVG())
		_, err := drawn.PNG(sheet.LeastDPI)
		require.NoError(t, err)
	}
}

// nightOf is a night without songs, of a rig with heads of one flux.
func nightOf(show, set string, heads int) *plan.Night {
	p := &engine.Program{Name: show, SetName: set}
	for h := range heads {
		p.Heads = append(p.Heads, engine.Head{Name: "head " + strconv.Itoa(h+1)})
	}
	return &plan.Night{Show: &shows.Show{Program: p}, Heads: fluxes(heads)}
}

// TestPinsApart: the numbers of findings at one place stand beside one another.
func TestPinsApart(t *testing.T) {
	n := small()
	n.Songs[0].Findings = slices.Repeat([]plan.Finding{{Beat: 2 * clock.Quarter, Reason: "x"}}, 30)
	var at []sheet.Disc
	for _, m := range plot.Score(n, 0, sheet.Papers()[0]).Marks {
		if d, ok := m.(sheet.Disc); ok && d.R > 1.8 {
			at = append(at, d)
		}
	}
	require.Len(t, at, 30)
	for i := 1; i < len(at); i++ {
		assert.GreaterOrEqual(t, at[i].X-at[i-1].X, at[i].R*2, "%d and %d are %v mm apart", i, i+1, at[i].X-at[i-1].X)
	}
}

// TestSizes: a page has the pixels of its size, and only sensible ones.
func TestSizes(t *testing.T) {
	s := plot.Overview(small(), sheet.Papers()[0])
	src, err := s.PNG(sheet.DPI)
	require.NoError(t, err)
	c, err := png.DecodeConfig(bytes.NewReader(src))
	// ISO 216: A4 is 210 by 297 mm.
	assert.NoError(t, err)
	assert.Equal(t, 1754, c.Width)
	assert.Equal(t, 1240, c.Height)
	for _, dpi := range []int{sheet.LeastDPI - 1, sheet.MostDPI + 1, 0, -1} {
		_, err := s.PNG(dpi)
		assert.Error(t, err, "%d dots an inch is taken", dpi)
	}
}

// TestMissing names letters that a PNG cannot show.
func TestMissing(t *testing.T) {
	n := small()
	n.Songs[0].Name = "Ночь ναι 夜の海夜 é"
	assert.Equal(t, "夜の海", plot.Score(n, 0, sheet.Papers()[0]).Missing(), "missing")
	assert.Empty(t, plot.Score(n, 1, sheet.Papers()[0]).Missing(), "missing")
	assert.True(t, bytes.Contains(plot.Score(n, 0, sheet.Papers()[0]).SVG(), []byte("夜の海夜")), "an SVG has all letters")
}

func BenchmarkScore(b *testing.B) {
	n := small()
	for b.Loop() {
		if _, err := plot.Score(n, 0, sheet.Papers()[0]).PNG(sheet.DPI); err != nil {
			require.NoError(b, err)
		}
	}
}
