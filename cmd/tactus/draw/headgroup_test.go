package draw

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"tactus/engine"
	"tactus/fixtures"
)

// Heads without red, green and blue are drawn in the light they give, not as
// lamps behind a dimmer nor in colours that they lack.
func TestWhitesAreDrawnAsTheyMix(t *testing.T) {
	r := &rig{t: t}
	for _, kind := range [][]string{{"warm", "cool"}, {"intensity", "white"}, {"intensity", "amber"}, {"intensity"}, {"red", "green", "blue"}} {
		p := profileOf(t, "kind", kind...)
		p.White = fixtures.WhiteOf(5600, 0)
		for _, name := range fixtures.EmitterNames() {
			param, _ := fixtures.EmitterByName(name)
			p.Emitters = append(p.Emitters, fixtures.Typical(param))
		}
		r.add(kind[len(kind)-1], p, engine.Head{})
	}
	p := r.program()
	asked := map[string]fixtures.RGB{
		"white": {1, 1, 1}, "candle": {1, 0.5, 0.2}, "blue": {0, 0, 1},
	}
	for _, c := range []struct {
		head int32
		ask  string
		want string
	}{
		{0, "white", "white"},
		{0, "candle", "orange"}, // 2700 K, beside a white of 5600 K
		{1, "white", "white"},
		{1, "candle", "white"},
		{1, "blue", "white"},
		{2, "white", "amber"},
		{4, "blue", "blue"},
	} {
		g, s := outputOf(p, c.head), fixtures.State{fixtures.Intensity: 1}
		s.SetColour(asked[c.ask])
		assert.False(t, g.dims, "%s counts as a lamp behind a dimmer", p.Heads[c.head].Name)
		got := colourWord(g.colour(&s))
		assert.Equal(t, c.want, got, "%s asked for %s is drawn %q (%.3f)", p.Heads[c.head].Name, c.ask, got, g.colour(&s))
		assert.Zero(t, testing.AllocsPerRun(20, func() { g.light(&s) }), "allocations")
	}
	assert.True(t, outputOf(p, 3).dims, "a dimmer has a colour")
}
