package draw

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tactus/engine"
)

// What the eye sees of Harbour Hall: nearer trusses higher and wider, lamps in
// mirror pairs, warmers in the middle, nothing that songs leave alone.
func TestPlace(t *testing.T) {
	p := harbour(t)
	lamps, bars := place(p, headGroups(p), 80, 13)
	require.Len(t, lamps, 12)
	require.Len(t, bars, 4)
	at := map[string]lamp{}
	for _, l := range lamps {
		at[p.Heads[l.head].Name] = l
	}
	for i := 1; i < 8; i += 2 {
		left, right := at[fmt.Sprint("wash ", i)], at[fmt.Sprint("wash ", i+1)]
		middle := at[fmt.Sprint("warmer ", (i+1)/2)]
		assert.Equal(t, right.y, left.y, "truss %d is not level: %+v %+v", i/2, middle, right)
		assert.Equal(t, middle.y, left.y, "truss %d is not level: %+v %+v", i/2, middle, right)
		d := left.x + right.x + right.w - 80
		assert.GreaterOrEqual(t, d, -2, "washes %d and %d are not mirrored: %+v %+v", i, i+1, left, right)
		assert.LessOrEqual(t, d, 2, "washes %d and %d are not mirrored: %+v %+v", i, i+1, left, right)
		if i > 1 {
			front := at[fmt.Sprint("wash ", i-2)]
			assert.Greater(t, left.y, front.y, "wash %d is seen, nearer wash %d", i, i-2)
			assert.Greater(t, left.x, front.x, "wash %d is seen, nearer wash %d", i, i-2)
		}
	}
	assert.True(t, at["wash 1"].hung)
	assert.Equal(t, "wash 1", at["wash 1"].label)
}

func TestFloorIsBelow(t *testing.T) {
	r := &rig{t: t}
	wash := profileOf(t, "wash", "intensity", "red", "green", "blue")
	r.add("floor 1", wash, engine.Head{At: engine.Point{X: 1, Y: 4}})
	r.add("wash 1", wash, engine.Head{At: engine.Point{X: 1, Y: 4, Z: 5}})
	r.add("edge 1", wash, engine.Head{At: engine.Point{X: 1}})
	p := r.program()
	lamps, bars := place(p, headGroups(p), 80, 13)
	require.Len(t, bars, 1)
	require.Len(t, lamps, 3)
	for i, name := range []string{"wash 1", "floor 1", "edge 1"} {
		l := lamps[i]
		assert.Equal(t, name, p.Heads[l.head].Name, "row %d", i)
		assert.Equal(t, i == 0, l.hung, "row %d", i)
		if i > 0 {
			assert.Greater(t, l.y, lamps[i-1].y, "row %d", i)
		}
	}
}

// Heads above each other are in an upright: they make it glow, shine neither up
// nor down, and hang from no bar that is not there.
func TestUprights(t *testing.T) {
	r := &rig{t: t}
	wash := profileOf(t, "wash", "red", "green", "blue")
	for i := range 4 {
		r.add(fmt.Sprint("warmer ", i+1), wash, engine.Head{At: engine.Point{
			X: []float64{-4, 4}[i%2], Y: 3, Z: []float64{0.5, 2.5}[i/2],
		}})
	}
	p := r.program()
	lamps, bars := place(p, headGroups(p), 80, 13)
	for _, b := range bars {
		assert.True(t, b.upright, "bar %+v", b)
		assert.Greater(t, b.length, 0, "bar %+v", b)
	}
	require.Len(t, bars, 2)
	require.NotEqual(t, bars[1].x, bars[0].x)
	require.Len(t, lamps, 4)
	g := newGlow(80, 13, lamps)
	for i := range lamps {
		assert.True(t, lamps[i].post, "%+v stands alone", lamps[i])
		for _, s := range g.shares[i] {
			require.Zero(t, s.beam, "lamp %d has a beam", i)
		}
	}
}

func TestShorten(t *testing.T) {
	for _, c := range []struct {
		name string
		room int
		want string
	}{
		{"chorus 2", 8, "chorus 2"},
		{"chorus 2", 7, "chor2"},
		{"chorus 2", 4, "cho2"},
		{"chorus 2", 2, "c2"},
		{"chorus 2", 1, ""},
		{"bridge", 5, "brid"},
		{"bridge", 1, "b"},
		{"pre-chorus 1", 6, "pre1"},
		{"pre-chorus", 4, "pre"},
		{"été", 1, ""},
		{"12", 1, "1"},
	} {
		assert.Equal(t, c.want, string(shorten(nil, c.name, c.room)), "%q in %d", c.name, c.room)
	}
}

// anyProgram is a rig of any size and place, with songs of any shape.
func anyProgram(t *testing.T, r *rapid.T) *engine.Program {
	g := &rig{t: t}
	wash, dimmer := profileOf(t, "wash", "red", "green", "blue"), profileOf(t, "dimmer", "intensity")
	metres := rapid.Float64Range(-30, 30)
	for i := range rapid.IntRange(0, 120).Draw(r, "heads") {
		profile, name := wash, fmt.Sprint(rapid.SampledFrom([]string{"wash ", "bar 1.", "", "港 "}).Draw(r, "name"), i)
		if rapid.Bool().Draw(r, "dimmer") {
			profile = dimmer
		}
		h := engine.Head{Keep: rapid.IntRange(0, 5).Draw(r, "keep") == 0}
		if rapid.Bool().Draw(r, "placed") {
			h.At = engine.Point{X: metres.Draw(r, "x"), Y: metres.Draw(r, "y"), Z: metres.Draw(r, "z")}
		}
		g.add(name, profile, h)
	}
	p := g.program()
	m, _ := engine.NewMeter(rapid.IntRange(1, 32).Draw(r, "upper"), 1<<rapid.IntRange(0, 4).Draw(r, "lower"))
	s := song("Gull Street", m, 120_000_000)
	s.Sections = s.Sections[:rapid.IntRange(0, len(s.Sections)).Draw(r, "sections")]
	p.Songs, p.SetList = []engine.Song{s}, []int32{0}
	return p
}
