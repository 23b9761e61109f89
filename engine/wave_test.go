package engine

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tactus/clock"
)

func plainWave(k WaveKind) Wave {
	return Wave{Kind: k, High: 1, Duty: 0.5, Skew: 0.5, Cells: DefaultCells, Levels: []float64{0, 1, 0.5, 0.25}}
}

func turn(x float64) clock.Turn { return clock.Turn(x * float64(clock.OneTurn)) }

// The closed forms stated above the WaveKind constants, at quarters of a cycle.
func TestWavesAtQuarters(t *testing.T) {
	gauss := func(x float64) float64 { return math.Exp(-(x - 0.5) * (x - 0.5) / (2 * 0.15 * 0.15)) }
	cases := []struct {
		kind WaveKind
		want [4]float64
	}{
		{Sine, [4]float64{0.5, 1, 0.5, 0}},
		{Triangle, [4]float64{0, 0.5, 1, 0.5}},
		{Ramp, [4]float64{0, 0.25, 0.5, 0.75}},
		{Fall, [4]float64{1, 0.75, 0.5, 0.25}},
		{Square, [4]float64{1, 1, 0, 0}},
		{HalfSine, [4]float64{0, math.Sqrt2 / 2, 1, math.Sqrt2 / 2}},
		{Gaussian, [4]float64{gauss(0), gauss(0.25), 1, gauss(0.75)}},
		{Decay, [4]float64{1, math.Pow(100, -0.25), 0.1, math.Pow(100, -0.75)}},
		{Steps, [4]float64{0, 1, 0.5, 0.25}},
	}
	for _, c := range cases {
		w := plainWave(c.kind)
		for q, want := range c.want {
			for _, cycle := range []float64{0, 1, -1, 1000} {
				assert.InDelta(t, want, w.At(turn(cycle+float64(q)/4)), 1e-9, "%s at %d/4 of cycle %v", c.kind, q, cycle)
			}
		}
	}
}

// Every wave keeps to Low..High wherever it is asked, and is the same when
// asked twice.
func TestWaveContract(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := Wave{
			Kind: WaveKind(rapid.IntRange(0, int(NumWaves)-1).Draw(t, "kind")),
			Low:  rapid.Float64Range(0, 1).Draw(t, "low"), High: rapid.Float64Range(0, 1).Draw(t, "high"),
			Duty: rapid.Float64Range(0, 1).Draw(t, "duty"), Skew: rapid.Float64Range(0.01, 0.99).Draw(t, "skew"),
			Seed: rapid.Uint64().Draw(t, "seed"), Cells: rapid.Int32Range(1, 256).Draw(t, "cells"),
			Levels: rapid.SliceOfN(rapid.Float64Range(0, 1), 1, MaxSteps).Draw(t, "levels"),
		}
		at := clock.Turn(rapid.Int64().Draw(t, "turn"))
		v := w.At(at)
		require.GreaterOrEqual(t, v, min(w.Low, w.High)-1e-9, "%s at %d", w.Kind, at)
		require.LessOrEqual(t, v, max(w.Low, w.High)+1e-9, "%s at %d", w.Kind, at)
		require.Equal(t, v, w.At(at), "%s at %d", w.Kind, at)
		if w.Kind != Noise && at < 1<<62 {
			require.Equal(t, v, w.At(at+7*clock.OneTurn), "%s at %d: seven cycles on", w.Kind, at)
		}
	})
}

func TestSkewMovesTheMiddle(t *testing.T) {
	for _, skew := range []float64{0.1, 0.5, 0.9} {
		w := plainWave(Triangle)
		w.Skew = skew
		got := w.At(turn(skew))
		assert.InDelta(t, 1, got, 1e-6, "triangle with skew %v is %v there", skew, got)
	}
}

func TestSquareDuty(t *testing.T) {
	for _, duty := range []float64{0, 0.1, 0.75, 1} {
		w := plainWave(Square)
		w.Duty = duty
		high := 0
		for i := range 1000 {
			if w.At(turn((float64(i)+0.5)/1000)) == 1 {
				high++
			}
		}
		assert.Equal(t, int(duty*1000), high, "duty %v: thousandths that are high", duty)
	}
}

// Noise is uniform, differs from cycle to cycle and seed to seed, and lights
// the share of cells that its duty says. Bounds are five standard deviations.
func TestNoiseStatistics(t *testing.T) {
	const cells, cycles = 16, 2000
	for _, duty := range []float64{0.05, 0.5, 1} {
		w := Wave{Kind: Noise, High: 1, Duty: duty, Cells: cells, Seed: 7}
		lit, sum := 0, 0.0
		for i := range cells * cycles {
			if v := w.At(turn((float64(i) + 0.5) / cells)); v > 0 {
				lit++
				sum += v
			}
		}
		n := float64(cells * cycles)
		assert.InDelta(t, n*duty, float64(lit), 5*math.Sqrt(n*duty*(1-duty))+1, "duty %v: %v cells lit", duty, n)
		assert.InDelta(t, 0.5, sum/float64(lit), 5*math.Sqrt(1.0/12/float64(lit)), "duty %v: mean of lit cells", duty)
	}
	a := Wave{Kind: Noise, High: 1, Duty: 1, Cells: cells, Seed: 1}
	b := a
	b.Seed = 2
	assert.NotEqual(t, b.At(0), a.At(0), "noise repeats across seeds or cycles")
	assert.NotEqual(t, a.At(clock.OneTurn), a.At(0), "noise repeats across seeds or cycles")
}

// Published outputs of SplitMix64 from seed 1234567 (Vigna's splitmix64.c as
// quoted by several libraries' tests; from memory).
func TestHashIsSplitMix(t *testing.T) {
	want := []uint64{6457827717110365317, 3203168211198807973, 9817491932198370423}
	state := uint64(1234567)
	for i, w := range want {
		assert.Equal(t, w, mixBits(state), "output %d", i)
		state += 0x9e3779b97f4a7c15
	}
}

func TestNamesRoundTrip(t *testing.T) {
	for k := range NumWaves {
		got, ok := WaveByName(k.String())
		assert.True(t, ok, "wave %q reads back", k)
		assert.Equal(t, k, got, "wave %q reads back", k)
	}
	for p := range NumPaths {
		got, ok := PathByName(p.String())
		assert.True(t, ok, "path %q reads back", p)
		assert.Equal(t, p, got, "path %q reads back", p)
	}
	for b := range NumBlends {
		got, ok := BlendByName(b.String())
		assert.True(t, ok, "blend %q reads back", b)
		assert.Equal(t, b, got, "blend %q reads back", b)
	}
	_, ok := WaveByName("wobble")
	assert.False(t, ok, "a wave by the name of wobble")
}
