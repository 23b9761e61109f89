package clock

import (
	"math/big"
	"testing"

	"pgregory.net/rapid"
)

func TestBeatDivides(t *testing.T) {
	for _, parts := range []Beat{2, 3, 4, 5, 6, 7, 8, 12, 16, 24, 32, 48, 64, 96, 480} {
		if Quarter%parts != 0 {
			t.Errorf("a quarter is no whole number of %dths", parts)
		}
	}
	if Tick*6 != Sixteenth || Sixteenth*4 != Quarter {
		t.Error("a sixteenth is six clocks (MIDI 1.0, song position pointer)")
	}
}

func TestBeatRounding(t *testing.T) {
	for _, c := range []struct{ b, floor, round, ceil Beat }{
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
		if f, r, u := c.b.FloorTo(10), c.b.RoundTo(10), c.b.CeilTo(10); f != c.floor || r != c.round || u != c.ceil {
			t.Errorf("%d: floor %d, round %d, ceil %d; want %d, %d, %d", c.b, f, r, u, c.floor, c.round, c.ceil)
		}
	}
}

// TestTurnOf holds the fixed-point turn to arithmetic without limits: the floor
// of b·2³²/period.
func TestTurnOf(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		period := Beat(rapid.Int64Range(1, 1<<31).Draw(t, "period"))
		cycle := rapid.Int64Range(-1<<30, 1<<30).Draw(t, "cycle")
		b := Beat(cycle)*period + Beat(rapid.Int64Range(0, int64(period)-1).Draw(t, "rest"))
		want := new(big.Int).Lsh(big.NewInt(int64(b)), 32)
		want.Div(want, big.NewInt(int64(period))) // Euclidean: floor for period > 0
		got := TurnOf(b, period)
		if want.Cmp(big.NewInt(int64(got))) != 0 {
			t.Fatalf("TurnOf(%d, %d) = %d, want %s", b, period, got, want)
		}
		if int64(got.Cycle()) != cycle {
			t.Fatalf("cycle %d, want %d", got.Cycle(), cycle)
		}
	})
}

func TestTurnOfLongPeriods(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		period := Beat(rapid.Int64Range(1<<31, 1<<50).Draw(t, "period"))
		b := Beat(rapid.Int64Range(-1<<55, 1<<55).Draw(t, "b"))
		want := new(big.Int).Lsh(big.NewInt(int64(b)), 32)
		want.Div(want, big.NewInt(int64(period)))
		// 31 bits of the period are left: an error of a part in 2³⁰ of a cycle.
		if d := int64(TurnOf(b, period)) - want.Int64(); d > 8 || d < -8 {
			t.Fatalf("TurnOf(%d, %d) is off by %d/2³² of a cycle", b, period, d)
		}
	})
}

func TestPhase(t *testing.T) {
	if got := TurnOf(Quarter/4, Quarter).Phase().Unit(); got != 0.25 {
		t.Errorf("a quarter of a cycle is %v", got)
	}
	for _, c := range []struct{ in, want float64 }{{0, 0}, {0.25, 0.25}, {1, 0}, {2.5, 0.5}, {-0.25, 0.75}, {-1, 0}} {
		if got := PhaseOf(c.in).Unit(); got != c.want {
			t.Errorf("PhaseOf(%v) is %v, want %v", c.in, got, c.want)
		}
	}
	if p := PhaseOf(0.75) + PhaseOf(0.5); p.Unit() != 0.25 {
		t.Errorf("phases do not wrap: %v", p.Unit())
	}
}
