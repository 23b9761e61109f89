package flash_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tactus/engine/flash"
	"tactus/fixtures"
)

// rig places a fixture of each list of channels, one after another. With emitters
// colours are mixed from typical ones.
func rig(t *testing.T, emitters bool, lists ...[]string) []flash.Head {
	t.Helper()
	var at []fixtures.Placement
	address, head := 1, 0
	for _, list := range lists {
		var channels []fixtures.Channel
		for _, text := range list {
			c, err := fixtures.ParseChannel(text)
			require.NoError(t, err)
			channels = append(channels, c)
		}
		p, err := fixtures.NewProfile("p", "", channels)
		require.NoError(t, err)
		p.Curve = fixtures.Square
		if emitters {
			p.Emitters = []fixtures.Emitter{fixtures.Typical(fixtures.White)}
		}
		at = append(at, fixtures.Placement{Name: "f", Profile: p, Address: address, Head: head})
		address, head = address+len(list), head+p.Heads
	}
	patch, err := fixtures.NewPatch(1, at)
	require.NoError(t, err)
	return flash.Heads(patch)
}

// Fluxes are those of fixtures.Typical: red 45, green 90, blue 20, white 110.
func TestHeads(t *testing.T) {
	heads := rig(t, false, []string{"intensity"}, []string{"red", "green", "blue", "uv"}, []string{"haze", "fan"},
		[]string{"head 1 red", "head 2 green", "head 2 shutter open 255 strobe 16 to 250 at 1 Hz to 20 Hz"}, []string{"intensity", "white"})
	strobe := fixtures.Rates{Slow: 16, Fast: 250, SlowHz: 1, FastHz: 20}
	assert.Equal(t, []flash.Head{
		{Flux: 110, Curve: fixtures.Square},
		{Flux: 155, Coloured: true, Curve: fixtures.Square},
		{Curve: fixtures.Square},
		{Flux: 45, Coloured: true, Curve: fixtures.Square},
		{Flux: 90, Coloured: true, Curve: fixtures.Square, Strobe: strobe},
		{Flux: 110, Curve: fixtures.Square},
	}, heads)
	mixed := rig(t, true, []string{"white"}, []string{"intensity", "red", "green", "blue", "white"})
	assert.True(t, mixed[0].Coloured)
	assert.InDelta(t, 110, mixed[0].Flux, 0.01, "one emitter is full for white")
	assert.True(t, mixed[1].Coloured)
	assert.Greater(t, mixed[1].Flux, 110.0)
	assert.Less(t, mixed[1].Flux, 45.0+90+20+110)
}

func TestLightOfAHead(t *testing.T) {
	state := fixtures.State{fixtures.Intensity: 0.5, fixtures.Red: 1.5, fixtures.Green: -0.4, fixtures.Blue: 0.5}
	coloured := flash.Head{Flux: 1, Coloured: true, Curve: fixtures.Square}
	assert.Equal(t, fixtures.RGB{0.25, -0.1, 0.125}, coloured.Light(&state))
	white := flash.Head{Flux: 1, Curve: fixtures.Square}
	assert.Equal(t, fixtures.RGB{0.25, 0.25, 0.25}, white.Light(&state), "no colour: the state's does not count")
	none := flash.Head{Coloured: true, Curve: fixtures.Square}
	assert.Zero(t, none.Light(&state), "a head that gives no light")
	state[fixtures.Red], state[fixtures.Green] = math.NaN(), -9
	assert.Equal(t, fixtures.RGB{0, -0.25, 0.125}, coloured.Light(&state))
}

// The light of any state is its intensity times each component, which is limited to -1..1;
// not a number is 0. The state of a head without a mixer stays as it is.
func TestLightOfAnyState(t *testing.T) {
	part := rapid.OneOf(rapid.Float64Range(-2, 3), rapid.Float64Range(0, 1), rapid.SampledFrom([]float64{math.Copysign(0, -1), 1, -1, math.NaN(), math.Inf(1), math.Inf(-1)}))
	rapid.Check(t, func(t *rapid.T) {
		h := flash.Head{Flux: 1, Coloured: true, Curve: fixtures.Curve(rapid.IntRange(0, 3).Draw(t, "curve"))}
		var s fixtures.State
		for _, p := range []fixtures.Param{fixtures.Intensity, fixtures.Red, fixtures.Green, fixtures.Blue} {
			s[p] = part.Draw(t, p.String())
		}
		i, got := h.Curve.Light(s[fixtures.Intensity]), h.Light(&s)
		for c, v := range s.Colour() {
			want := i * max(-1, min(1, v))
			if math.IsNaN(v) {
				want = 0
			}
			require.Equal(t, math.Float64bits(want), math.Float64bits(got[c]), "component %d of %v: %v, want %v", c, s, got[c], want)
		}
		limited := s
		h.LimitColour(&limited)
		require.Equal(t, [...]uint64{math.Float64bits(s[fixtures.Red]), math.Float64bits(s[fixtures.Green]), math.Float64bits(s[fixtures.Blue])},
			[...]uint64{math.Float64bits(limited[fixtures.Red]), math.Float64bits(limited[fixtures.Green]), math.Float64bits(limited[fixtures.Blue])}, "a head without a mixer shows any colour")
	})
}

// A strobe is asked for as a share of fixtures.MaxStrobe, 4 a second.
func TestStrobeRate(t *testing.T) {
	for _, c := range []struct{ slow, asked, want float64 }{
		{0, 1, 0},
		{1, 0, 0},
		{1, 0.12, 0},
		{1, 0.125, 1},
		{1, 0.25, 1},
		{1, 0.5, 2},
		{1, 1, 4},
		{1, 2, 4},
		{4, 1, 4},
		{4.5, 1, 0},
		{1, math.NaN(), 0},
	} {
		h := flash.Head{Strobe: fixtures.Rates{SlowHz: c.slow, FastHz: 20}}
		assert.Equal(t, c.want, h.StrobeRate(&fixtures.State{fixtures.Strobe: c.asked}), "%v", c)
	}
}

func TestArea(t *testing.T) {
	heads := []flash.Head{{Flux: 30}, {}, {Flux: 10}, {Flux: 50}}
	a := flash.NewArea("front", heads, []int32{0, 1, -1, 2, 4})
	assert.Equal(t, flash.Area{Name: "front", Heads: []int32{0, 2}, Shares: []float64{0.75, 0.25}}, a)
	assert.Equal(t, fixtures.RGB{1, 0.5, 0.25}, a.Light([]fixtures.RGB{{1, 0.5, 0}, {9, 9, 9}, {1, 0.5, 1}, {9, 9, 9}}))
	empty := flash.NewArea("haze", heads, []int32{1})
	assert.Empty(t, empty.Heads)
	assert.Zero(t, empty.Light(make([]fixtures.RGB, 4)))
}
