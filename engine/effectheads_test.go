package engine

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tactus/clock"
	"tactus/fixtures"
)

// An effect on many heads gives each of them the same bits as an effect on that head
// alone: what heads share within a frame never shows.
func TestEffectOnManyHeadsIsThatOnEach(t *testing.T) {
	p := deepHall(t)
	shared := 0
	rapid.Check(t, func(t *rapid.T) {
		part := rapid.Float64Range(0, 1)
		roles := roleColours{palette: &Palette{Main: {0, 0, 1}, Second: {1, 0.4, 0}, 2: {1, 1, 1}}, patch: p.Patch}
		if rapid.Bool().Draw(t, "deep") {
			roles.deep = bright(Main, Second)
		}
		wave := PlainWave(WaveKind(rapid.IntRange(0, int(NumWaves)-1).Draw(t, "wave")))
		wave.Skew = rapid.Float64Range(0.1, 0.9).Draw(t, "skew")
		all := Effect{
			Wave: wave, Period: Length{Num: 1, Den: 1, Bars: true}, Pulses: rapid.Int32Range(1, 4).Draw(t, "pulses"),
			Depth: rapid.OneOf(part, rapid.Just(1.0)).Draw(t, "depth"), Blend: Blend(rapid.IntRange(0, int(NumBlends)-1).Draw(t, "blend")),
			MovesColour: rapid.Bool().Draw(t, "colour"), Param: rapid.SampledFrom([]fixtures.Param{fixtures.Intensity, fixtures.Pan}).Draw(t, "param"),
			From: Colour{Role: Role(rapid.IntRange(0, 2).Draw(t, "from"))}, To: Colour{Role: Role(rapid.IntRange(0, 2).Draw(t, "to"))},
		}
		steps := rapid.SampledFrom([]int{1, 7, 128, 400, 4000}).Draw(t, "steps of the path")
		looks := [3]fixtures.State{{fixtures.Red: part.Draw(t, "red"), fixtures.Blue: 1}, {fixtures.Green: 1}, {fixtures.Intensity: 1, fixtures.Pan: -0.5}}
		light, alone := make([]fixtures.State, len(p.Heads)), make([]fixtures.State, len(p.Heads))
		seen := map[clock.Phase]bool{}
		for i := range rapid.IntRange(300, 500).Draw(t, "heads") {
			h := int32(i % len(p.Heads)) // a head comes more than once
			step := i * 7 % steps
			all.Heads, all.Offsets = append(all.Heads, h), append(all.Offsets, clock.PhaseOf(float64(step)/float64(steps)))
			if seen[all.Offsets[i]] {
				shared++
			}
			seen[all.Offsets[i]] = true
		}
		for h := range light {
			light[h] = looks[rapid.IntRange(0, 2).Draw(t, "look")]
		}
		copy(alone, light)
		at, share := clock.Beat(rapid.Int64Range(0, 1<<40).Draw(t, "at")), rapid.OneOf(part, rapid.Just(1.0)).Draw(t, "share")
		all.apply(light, at, common, &roles, share)
		for i := range all.Heads {
			one := all
			one.Heads, one.Offsets = all.Heads[i:i+1], all.Offsets[i:i+1]
			one.apply(alone, at, common, &roles, share)
		}
		for h := range light {
			for q, v := range light[h] {
				require.Equal(t, math.Float64bits(alone[h][q]), math.Float64bits(v), "head %d, %s: %v alone, %v with others", h, fixtures.Param(q), alone[h][q], v)
			}
		}
	})
	assert.Greater(t, shared, 1000, "heads with the delay of another")
}
