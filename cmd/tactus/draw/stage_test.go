package draw

import (
	"fmt"
	"testing"

	"tactus/engine"

	"pgregory.net/rapid"
)

// What the eye sees of Harbour Hall: nearer trusses higher and wider, lamps in
// mirror pairs, warmers in the middle, nothing that songs leave alone.
func TestPlace(t *testing.T) {
	p := harbour(t)
	lamps, bars := place(p, voices(p), 80, 13)
	if len(lamps) != 12 || len(bars) != 4 {
		t.Fatalf("%d lamps on %d bars, want 12 on 4", len(lamps), len(bars))
	}
	at := map[string]lamp{}
	for _, l := range lamps {
		at[p.Heads[l.head].Name] = l
	}
	for i := 1; i < 8; i += 2 {
		left, right := at[fmt.Sprint("wash ", i)], at[fmt.Sprint("wash ", i+1)]
		middle := at[fmt.Sprint("warmer ", (i+1)/2)]
		if left.y != right.y || left.y != middle.y {
			t.Errorf("truss %d is not level: %+v %+v %+v", i/2, left, middle, right)
		}
		if d := left.x + right.x + right.w - 80; d < -2 || d > 2 {
			t.Errorf("washes %d and %d are not mirrored: %+v %+v", i, i+1, left, right)
		}
		if i > 1 {
			front := at[fmt.Sprint("wash ", i-2)]
			if left.y <= front.y || left.x <= front.x {
				t.Errorf("wash %d is seen at %+v, nearer wash %d at %+v", i, left, i-2, front)
			}
		}
	}
	if !at["wash 1"].hung || at["wash 1"].label != "wash 1" {
		t.Errorf("%+v", at["wash 1"])
	}
}

func TestFloorIsBelow(t *testing.T) {
	r := &rig{t: t}
	wash := profileOf(t, "wash", "intensity", "red", "green", "blue")
	r.add("floor 1", wash, engine.Head{At: engine.Point{X: 1, Y: 4}})
	r.add("wash 1", wash, engine.Head{At: engine.Point{X: 1, Y: 4, Z: 5}})
	r.add("edge 1", wash, engine.Head{At: engine.Point{X: 1}})
	p := r.program()
	lamps, bars := place(p, voices(p), 80, 13)
	if len(bars) != 1 || len(lamps) != 3 {
		t.Fatalf("%v %v", lamps, bars)
	}
	for i, name := range []string{"wash 1", "floor 1", "edge 1"} {
		l := lamps[i]
		if p.Heads[l.head].Name != name || l.hung != (i == 0) || i > 0 && l.y <= lamps[i-1].y {
			t.Errorf("row %d: %s %+v, want %s", i, p.Heads[l.head].Name, l, name)
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
	lamps, bars := place(p, voices(p), 80, 13)
	for _, b := range bars {
		if !b.upright || b.length <= 0 {
			t.Errorf("bar %+v", b)
		}
	}
	if len(bars) != 2 || bars[0].x == bars[1].x || len(lamps) != 4 {
		t.Fatalf("%d bars, %d lamps; want 2 uprights of 4 lamps", len(bars), len(lamps))
	}
	g := newGlow(80, 13, lamps)
	for i := range lamps {
		if !lamps[i].post {
			t.Errorf("%+v stands alone", lamps[i])
		}
		for _, s := range g.shares[i] {
			if s.beam != 0 {
				t.Fatalf("lamp %d has a beam", i)
			}
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
		if got := string(shorten(nil, c.name, c.room)); got != c.want {
			t.Errorf("%q in %d: have %q, want %q", c.name, c.room, got, c.want)
		}
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
