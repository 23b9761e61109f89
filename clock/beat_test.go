package clock_test

import (
	"math/big"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
	"tactus/clock"
)

func TestBeatDivides(t *testing.T) {
	for _, parts := range []clock.Beat{2, 3, 4, 5, 6, 7, 8, 12, 16, 24, 32, 48, 64, 96, 480} {
		assert.Zero(t, clock.Quarter%parts, "a quarter is no whole number of %dths", parts)
	}
	assert.Equal(t, clock.Sixteenth, clock.Tick*6, "a sixteenth is six clocks (MIDI 1.0, song position pointer)")
	assert.Equal(t, clock.Quarter, clock.Sixteenth*4, "a sixteenth is six clocks (MIDI 1.0, song position pointer)")
}

func TestBeatRounding(t *testing.T) {
	for _, c := range []struct{ b, floor, round, ceil clock.Beat }{
		{0, 0, 0, 0},
		{1, 0, 0, 10},
		{4, 0, 0, 10},
		{5, 0, 10, 10},
		{9, 0, 10, 10},
		{10, 10, 10, 10},
		{-1, -10, 0, 0},
		{-5, -10, 0, 0},
		{-6, -10, -10, 0},
		{-10, -10, -10, -10},
	} {
		assert.Equal(t, c.floor, c.b.FloorTo(10), "%d", c.b)
		assert.Equal(t, c.round, c.b.RoundTo(10), "%d", c.b)
		assert.Equal(t, c.ceil, c.b.CeilTo(10), "%d", c.b)
	}
}

// TestTurnOf holds the fixed-point turn to arithmetic without limits: the floor
// of b·2³²/period.
func TestTurnOf(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		period := clock.Beat(rapid.Int64Range(1, 1<<31).Draw(t, "period"))
		cycle := rapid.Int64Range(-1<<30, 1<<30).Draw(t, "cycle")
		b := clock.Beat(cycle)*period + clock.Beat(rapid.Int64Range(0, int64(period)-1).Draw(t, "rest"))
		want := new(big.Int).Lsh(big.NewInt(int64(b)), 32)
		want.Div(want, big.NewInt(int64(period))) // Euclidean: floor for period > 0
		got := clock.TurnOf(b, period)
		require.Zero(t, want.Cmp(big.NewInt(int64(got))), "TurnOf(%d, %d)", b, period)
		require.Equal(t, cycle, int64(got.Cycle()), "cycle")
	})
}

func TestTurnOfLongPeriods(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		period := clock.Beat(rapid.Int64Range(1<<31, 1<<50).Draw(t, "period"))
		b := clock.Beat(rapid.Int64Range(-1<<55, 1<<55).Draw(t, "b"))
		want := new(big.Int).Lsh(big.NewInt(int64(b)), 32)
		want.Div(want, big.NewInt(int64(period)))
		// 31 bits of the period are left: an error of a part in 2³⁰ of a cycle.
		d := int64(clock.TurnOf(b, period)) - want.Int64()
		require.LessOrEqual(t, d, int64(8), "TurnOf(%d, %d) is off by %d/2³² of a cycle", b, period, d)
		require.GreaterOrEqual(t, d, int64(-8), "TurnOf(%d, %d) is off by %d/2³² of a cycle", b, period, d)
	})
}

func TestPhase(t *testing.T) {
	assert.Equal(t, 0.25, clock.TurnOf(clock.Quarter/4, clock.Quarter).Phase().Unit(), "a quarter of a cycle")
	for _, c := range []struct{ in, want float64 }{{0, 0}, {0.25, 0.25}, {1, 0}, {2.5, 0.5}, {-0.25, 0.75}, {-1, 0}} {
		assert.Equal(t, c.want, clock.PhaseOf(c.in).Unit(), "PhaseOf(%v)", c.in)
	}
	assert.Equal(t, 0.25, (clock.PhaseOf(0.75) + clock.PhaseOf(0.5)).Unit(), "phases do not wrap")
}
