package engine

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"tactus/clock"
	"tactus/fixtures"
)

func near(a, b float64) bool { return math.Abs(a-b) < 1e-9 }

// The formulas stated at the Blend constants, worked by hand.
func TestBlends(t *testing.T) {
	cases := []struct {
		blend       Blend
		v, w, depth float64
		want        float64
	}{
		{Scale, 0.8, 0.5, 1, 0.4},
		{Scale, 0.8, 0, 0.25, 0.6},
		{Scale, 0.8, 1, 1, 0.8},
		{Add, 0.2, 0.5, 1, 0.7},
		{Add, 0.9, 0.5, 1, 1},
		{Replace, 0.2, 1, 0.5, 0.6},
		{Replace, 0.2, 0.7, 1, 0.7},
		{Highest, 0.3, 0.2, 1, 0.3},
		{Highest, 0.3, 0.8, 0.5, 0.4},
		{Swing, 0.4, 0.75, 0.2, 0.45},
		{Swing, 0.4, 0, 0.2, 0.3},
		{Swing, 0.95, 1, 1, 1},
		{Swing, 0.1, 0, 1, 0},
	}
	for _, c := range cases {
		got := c.blend.Apply(c.v, c.w, c.depth)
		assert.True(t, near(got, c.want), "%s of %v with wave %v at depth %v: %v, want %v", c.blend, c.v, c.w, c.depth, got, c.want)
	}
	for b := range NumBlends {
		got := b.Apply(0.37, 0.9, 0)
		assert.True(t, near(got, 0.37), "%s at depth 0 changes the look: %v", b, got)
	}
}

// Pan and tilt are -1..1: a triangle that swings a fifth of the travel goes a
// tenth to either side of where the look points, and stops at the ends.
func TestEffectSwingsAboutTheLook(t *testing.T) {
	for _, param := range []fixtures.Param{fixtures.Pan, fixtures.Tilt} {
		for _, c := range []struct{ look, low, high float64 }{{0, -0.2, 0.2}, {0.5, 0.3, 0.7}, {0.9, 0.7, 1}, {-1, -1, -0.8}} {
			e := Effect{
				Heads: []int32{0}, Offsets: []clock.Phase{0}, Wave: PlainWave(Triangle), Period: Length{Num: 1, Den: 1, Bars: true},
				Pulses: 1, Depth: 0.2, Blend: Swing, Param: param,
			}
			low, high := 9.0, -9.0
			for at := clock.Beat(0); at < 4*clock.Quarter; at += clock.Quarter / 8 {
				light := make([]fixtures.State, 1)
				light[0][param] = c.look
				e.apply(light, at, common, &roleColours{palette: &plain}, 1)
				low, high = min(low, light[0][param]), max(high, light[0][param])
			}
			assert.True(t, near(low, c.low), "%s from %v goes %v to %v, want %v to %v", param, c.look, low, high, c.low, c.high)
			assert.True(t, near(high, c.high), "%s from %v goes %v to %v, want %v to %v", param, c.look, low, high, c.low, c.high)
		}
	}
}

// A ramp over four heads with an even spread: each head is a quarter of a
// cycle behind the one before it.
func TestEffectTravelsAlongItsPath(t *testing.T) {
	light := make([]fixtures.State, 4)
	points := []Point{{X: 0}, {X: 1}, {X: 2}, {X: 3}}
	e := Effect{
		Heads: []int32{0, 1, 2, 3}, Offsets: LeftRight.Offsets(points, 0, Even),
		Wave: PlainWave(Ramp), Period: Length{Num: 1, Den: 1, Bars: true}, Pulses: 1,
		Depth: 1, Blend: Replace, Param: fixtures.Intensity,
	}
	for beat := range 9 {
		e.apply(light, clock.Beat(beat)*clock.Quarter, common, &roleColours{palette: &plain}, 1)
		for h := range light {
			want := math.Mod(float64(beat+8-h)/4, 1)
			got := light[h][fixtures.Intensity]
			assert.True(t, near(got, want), "beat %d, head %d: %v, want %v", beat, h, got, want)
		}
	}
}

func TestPulsesRepeatWithinThePeriod(t *testing.T) {
	light := make([]fixtures.State, 1)
	e := Effect{
		Heads: []int32{0}, Offsets: make([]clock.Phase, 1), Wave: PlainWave(Square),
		Period: Length{Num: 1, Den: 1, Bars: true}, Pulses: 3, Depth: 1, Blend: Replace,
	}
	rises, last := 0, 0.0
	for i := range 4000 {
		e.apply(light, clock.Beat(i)*clock.Quarter/1000, common, &roleColours{palette: &plain}, 1)
		v := light[0][fixtures.Intensity]
		if v > last {
			rises++
		}
		last = v
	}
	assert.Equal(t, 3, rises, "pulses in a bar")
}

func TestColourMovesBetweenRoles(t *testing.T) {
	p := Palette{Main: {1, 0, 0}, Second: {0, 0, 1}}
	light := make([]fixtures.State, 1)
	light[0][fixtures.Intensity] = 0.5
	e := Effect{
		Heads: []int32{0}, Offsets: make([]clock.Phase, 1), Wave: PlainWave(Triangle),
		Period: Length{Num: 2, Den: 1}, Pulses: 1, Depth: 1, Blend: Replace,
		MovesColour: true, From: Colour{Role: Main}, To: Colour{Role: Second},
	}
	half := p[Main].Mix(p[Second], 0.5) // how colours mix is tested where they do
	for quarter, want := range []fixtures.RGB{{1, 0, 0}, half, {0, 0, 1}, half} {
		e.apply(light, clock.Beat(quarter)*clock.Quarter/2, common, &roleColours{palette: &p}, 1)
		c := light[0].Colour()
		for i := range c {
			assert.True(t, near(c[i], want[i]), "half beat %d: colour %v, want %v", quarter, c, want)
		}
	}
	assert.Equal(t, 0.5, light[0][fixtures.Intensity], "a colour effect moved the intensity")
}
