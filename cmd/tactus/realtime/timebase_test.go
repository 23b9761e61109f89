package realtime

import (
	"math"
	"math/big"
	"testing"

	"pgregory.net/rapid"
)

// Ticks are the span divided by the length of a tick, rounded up; checked
// against integers of any size.
func TestTicks(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := timebase{rapid.Uint32Min(1).Draw(t, "num"), rapid.Uint32Min(1).Draw(t, "den")}
		ns := rapid.Int64().Draw(t, "ns")
		want := new(big.Int).Mul(big.NewInt(max(ns, 0)), big.NewInt(int64(b.den)))
		want.Add(want, big.NewInt(int64(b.num)-1)).Div(want, big.NewInt(int64(b.num)))
		if !want.IsUint64() {
			want.SetUint64(math.MaxUint64)
		}
		if got := b.ticks(ns); got != want.Uint64() {
			t.Fatalf("%d ns at %d/%d: %d ticks, want %v", ns, b.num, b.den, got, want)
		}
		ticks := rapid.Uint64().Draw(t, "ticks")
		back := new(big.Int).Mul(new(big.Int).SetUint64(ticks), big.NewInt(int64(b.num)))
		back.Div(back, big.NewInt(int64(b.den)))
		if !back.IsInt64() {
			back.SetInt64(math.MaxInt64)
		}
		if got := b.nanoseconds(ticks); got != back.Int64() {
			t.Fatalf("%d ticks at %d/%d: %d ns, want %v", ticks, b.num, b.den, got, back)
		}
	})
	// 24 MHz: a second is 24,000,000 ticks.
	if got := (timebase{125, 3}).ticks(1_000_000_000); got != 24_000_000 {
		t.Errorf("a second at 125/3 ns is %d ticks, want 24000000", got)
	}
	if (timebase{}).valid() || !(timebase{1, 1}).valid() {
		t.Error("a tick of no length passes for one, or one of a nanosecond does not")
	}
}

// Windows takes spans in 100 ns, below zero; none is short, none is 0, which
// would be a moment in 1601.
func TestHundreds(t *testing.T) {
	for _, c := range []struct{ ns, want int64 }{
		{22_727_273, -227_273}, {100, -1}, {101, -2}, {1, -1}, {0, -1}, {-5, -1},
	} {
		if got := hundreds(c.ns); got != c.want {
			t.Errorf("%d ns: %d, want %d", c.ns, got, c.want)
		}
	}
}
