package realtime

import (
	"math"
	"math/big"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
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
		require.Equal(t, want.Uint64(), b.ticks(ns), "%d ns at %d/%d", ns, b.num, b.den)
		ticks := rapid.Uint64().Draw(t, "ticks")
		back := new(big.Int).Mul(new(big.Int).SetUint64(ticks), big.NewInt(int64(b.num)))
		back.Div(back, big.NewInt(int64(b.den)))
		if !back.IsInt64() {
			back.SetInt64(math.MaxInt64)
		}
		require.Equal(t, back.Int64(), b.nanoseconds(ticks), "%d ticks at %d/%d", ticks, b.num, b.den)
	})
	// 24 MHz: a second is 24,000,000 ticks.
	assert.EqualValues(t, 24_000_000, (timebase{125, 3}).ticks(1_000_000_000), "ticks of 125/3 ns in a second")
	assert.False(t, (timebase{}).valid(), "a tick of no length passes for one, or one of a nanosecond does not")
	assert.True(t, (timebase{1, 1}).valid(), "a tick of no length passes for one, or one of a nanosecond does not")
}

// Windows takes spans in 100 ns, below zero; none is short, none is 0, which
// would be a moment in 1601.
func TestHundreds(t *testing.T) {
	for _, c := range []struct{ ns, want int64 }{
		{22_727_273, -227_273}, {100, -1}, {101, -2}, {1, -1}, {0, -1}, {-5, -1},
	} {
		assert.Equal(t, c.want, hundreds(c.ns), "%d ns", c.ns)
	}
}
