package main

import (
	"golang.org/x/sys/unix"

	"tactus/clock"
)

// waiter returns what waits for a frame. Go's timer rounds to whole
// milliseconds on Linux and wakes up to 1.4 ms late; the system's own sleep, on
// a thread that does nothing else, is good to a tenth of one.
func waiter(base clock.Base) func(clock.Time) {
	return func(until clock.Time) {
		for {
			d := base.Until(until)
			if d <= 0 {
				return
			}
			left := unix.NsecToTimespec(int64(d))
			// An error is a signal that came between: what is left is waited for.
			_ = unix.ClockNanosleep(unix.CLOCK_MONOTONIC, 0, &left, nil)
		}
	}
}
