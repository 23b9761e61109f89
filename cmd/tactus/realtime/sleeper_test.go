package realtime

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/clock"
)

// A wait never ends early, costs no heap, and returns at once for what is past.
func TestSleeper(t *testing.T) {
	base := clock.NewBase()
	own := NewSleeper(base)
	for _, s := range []*Sleeper{own, {base: base, Kind: "Go's own timer", nap: goNap()}} {
		t.Run(s.Kind, func(t *testing.T) {
			var worst clock.Time
			for range 50 {
				until := base.Now() + 2*clock.Millisecond
				s.Wait(until)
				late := base.Now() - until
				require.GreaterOrEqual(t, late, clock.Time(0), "woke %v early", (-late).Sub(0))
				worst = max(worst, late)
			}
			t.Logf("latest of 50 wakes: %v", worst.Sub(0))
			s.Wait(base.Now() - clock.Second)
			n := testing.AllocsPerRun(20, func() { s.Wait(base.Now() + clock.Microsecond) })
			if !raceEnabled {
				assert.Zero(t, n, "allocations a wait")
			}
		})
	}
}

// A wait for something far off gives up after 50 ms, so that a loop can stop;
// one that is woken early by something else waits on.
func TestSleeperStops(t *testing.T) {
	base := clock.NewBase()
	var asked clock.Time
	naps := 0
	s := &Sleeper{base: base, nap: func(now, until clock.Time) {
		asked = until - now
		naps++
		for naps > 3 && base.Now() < until { // the first three come to nothing
		}
	}}
	start := base.Now()
	s.Wait(start + clock.Millisecond)
	assert.GreaterOrEqual(t, naps, 4)
	assert.GreaterOrEqual(t, base.Now()-start, clock.Millisecond)
	s.Wait(base.Now() + 3600*clock.Second)
	assert.LessOrEqual(t, asked, longestSleep, "the longest sleep in one go")
}

// The counter at Time zero is found to the width of the narrowest reading, and
// never too low, so that no deadline comes early.
func TestAlign(t *testing.T) {
	base := clock.NewBase()
	const ahead = 1_000_000_007
	a := align(base, func() int64 { return int64(base.Now()) + ahead })
	off := a.counterAt(0) - ahead
	assert.GreaterOrEqual(t, off, int64(0))
	assert.LessOrEqual(t, off, int64(clock.Millisecond))
	assert.EqualValues(t, 2, a.counterAt(5)-a.counterAt(3), "two moments 2 ns apart are not so on the counter")
}
