package main

import (
	"testing"

	"tactus/clock"
)

// A wait never ends early, costs no heap, and returns at once for what is past.
func TestWaiter(t *testing.T) {
	base := clock.NewBase()
	wait := waiter(base)
	if wait == nil {
		t.Skip("the loop's own timer serves on this system")
	}
	var worst clock.Time
	for range 50 {
		until := base.Now() + 2*clock.Millisecond
		wait(until)
		late := base.Now() - until
		if late < 0 {
			t.Fatalf("woke %v early", (-late).Sub(0))
		}
		worst = max(worst, late)
	}
	t.Logf("latest of 50 wakes: %v", worst.Sub(0))
	wait(base.Now() - clock.Second)
	if n := testing.AllocsPerRun(20, func() { wait(base.Now() + clock.Microsecond) }); n != 0 && !raceEnabled {
		t.Errorf("%v allocations a wait, want 0", n)
	}
}
