package realtime

import (
	"testing"

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
				if late < 0 {
					t.Fatalf("woke %v early", (-late).Sub(0))
				}
				worst = max(worst, late)
			}
			t.Logf("latest of 50 wakes: %v", worst.Sub(0))
			s.Wait(base.Now() - clock.Second)
			if n := testing.AllocsPerRun(20, func() { s.Wait(base.Now() + clock.Microsecond) }); n != 0 && !raceEnabled {
				t.Errorf("%v allocations a wait, want 0", n)
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
	if took := base.Now() - start; naps < 4 || took < clock.Millisecond {
		t.Errorf("%d naps, over after %v; want more than 3 and 1 ms", naps, took.Sub(0))
	}
	s.Wait(base.Now() + 3600*clock.Second)
	if asked > longestSleep {
		t.Errorf("slept for %v in one go, want at most %v", asked.Sub(0), longestSleep.Sub(0))
	}
}

// The counter at Time zero is found to the width of the narrowest reading, and
// never too low, so that no deadline comes early.
func TestAlign(t *testing.T) {
	base := clock.NewBase()
	const ahead = 1_000_000_007
	a := align(base, func() int64 { return int64(base.Now()) + ahead })
	if off := a.at(0) - ahead; off < 0 || off > int64(clock.Millisecond) {
		t.Errorf("%d ns off, want 0 to a reading's width", off)
	}
	if a.at(5)-a.at(3) != 2 {
		t.Error("two moments 2 ns apart are not so on the counter")
	}
}
