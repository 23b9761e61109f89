package plot

import (
	"bytes"
	"encoding/xml"
	"errors"
	"image/png"
	"io"
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tactus/clock"
	"tactus/engine"
	"tactus/fixtures"
	"tactus/shows/sheet"
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
		n := &Night{Show: rapid.String().Draw(t, "show"), Set: rapid.String().Draw(t, "set")}
		for range rapid.IntRange(0, 3).Draw(t, "songs") {
			n.Songs = append(n.Songs, anySong(t))
		}
		p := sheet.Papers()[rapid.IntRange(0, 1).Draw(t, "paper")]
		both := []*sheet.Sheet{n.Overview(p)}
		if len(n.Songs) > 0 {
			both = append(both, n.Score(0, p))
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

func anySong(t *rapid.T) Song {
	s := Song{Name: rapid.String().Draw(t, "name"), Rank: rapid.Float64Range(-1, 1).Draw(t, "rank")}
	sections := rapid.SampledFrom([]int{0, 1, 2, 9, 20}).Draw(t, "sections")
	long := clock.Time(rapid.SampledFrom([]int64{1, 1e6, 1e9, 30e9}).Draw(t, "long"))
	for i := range sections {
		e := rapid.Float64Range(-1, 11).Draw(t, "energy")
		s.Sections = append(s.Sections, Section{rapid.StringN(1, 30, -1).Draw(t, "section"), s.Length, s.Length + long, e, math.NaN()})
		s.Bars = append(s.Bars, Bar{s.Length, 1}, Bar{s.Length + long/2, 2})
		if i%2 == 0 {
			s.Sections[i].Measured = e
		}
		s.Length += long
	}
	n := rapid.SampledFrom([]int{0, 1, 7, 40}).Draw(t, "columns")
	for range rapid.SampledFrom([]int{0, 1, 2, 12}).Draw(t, "heads") {
		r := Row{"head", rapid.SampledFrom([]string{"", "front truss", "b"}).Draw(t, "group"), make([]float64, n), make([]fixtures.RGB, n)}
		if n > 0 {
			r.Light[n/2] = rapid.Float64Range(-1, 2).Draw(t, "light")
			r.Hue[n/2] = fixtures.RGB{rapid.Float64().Draw(t, "red"), 0, -1}
		}
		s.Rows = append(s.Rows, r)
	}
	s.Light = make([]float64, n)
	for range rapid.SampledFrom([]int{0, 1, 30}).Draw(t, "notes") {
		s.Notes = append(s.Notes, Note{clock.Time(rapid.Int64Range(-5, 5000).Draw(t, "at")) * clock.Millisecond, Fault, true, "here", rapid.String().Draw(t, "words")})
	}
	return s
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
		s := Stage(show, sheet.Papers()[0])
		wellFormed(t, s.SVG())
		if !rapid.Bool().Draw(t, "pixels too") {
			return
		}
		_, err := s.PNG(sheet.LeastDPI)
		require.NoError(t, err)
	})
}

// TestLargest: 500 heads over 128 sections, and 500 heads on a stage.
func TestLargest(t *testing.T) {
	s := Song{Name: "Long Night", Rank: 1, Length: 128 * clock.Second, Light: make([]float64, 50)}
	for i := range 128 {
		at := clock.Time(i) * clock.Second
		s.Sections = append(s.Sections, Section{"verse " + itoa(i+1), at, at + clock.Second, 5, 5})
		s.Bars = append(s.Bars, Bar{at, 1})
	}
	light, hue := make([]float64, 50), make([]fixtures.RGB, 50)
	for c := range light {
		light[c], hue[c] = 1, fixtures.RGB{1, 1, 1}
	}
	places := make([]engine.Point, 500)
	for h := range places {
		s.Rows = append(s.Rows, Row{"head " + itoa(h+1), "group " + itoa(h/5), light, hue})
		places[h] = engine.Point{X: float64(h%25) / 2, Y: float64(h/25) / 2, Z: 4}
	}
	n := &Night{Show: "Long", Set: "Night", Songs: slices.Repeat([]Song{s}, 12)}
	for _, drawn := range []*sheet.Sheet{n.Score(0, sheet.Papers()[0]), n.Overview(sheet.Papers()[0]), Stage(stageOf(t, places), sheet.Papers()[0])} {
		wellFormed(t, drawn.SVG())
		_, err := drawn.PNG(sheet.LeastDPI)
		require.NoError(t, err)
	}
}

// TestSizes: a page has the pixels of its size, and only sensible ones.
func TestSizes(t *testing.T) {
	s := small().Overview(sheet.Papers()[0])
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
	assert.Equal(t, "夜の海", n.Score(0, sheet.Papers()[0]).Missing(), "missing")
	assert.Empty(t, n.Score(1, sheet.Papers()[0]).Missing(), "missing")
	assert.True(t, bytes.Contains(n.Score(0, sheet.Papers()[0]).SVG(), []byte("夜の海夜")), "an SVG has all letters")
}

func BenchmarkScore(b *testing.B) {
	n := small()
	for b.Loop() {
		if _, err := n.Score(0, sheet.Papers()[0]).PNG(sheet.DPI); err != nil {
			require.NoError(b, err)
		}
	}
}
