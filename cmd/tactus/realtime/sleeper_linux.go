package realtime

import (
	"golang.org/x/sys/unix"

	"tactus/clock"
)

// systemNap sleeps to an absolute moment of CLOCK_MONOTONIC, the clock that
// Go's monotonic time reads on Linux (runtime, nanotime1): nothing that
// happens between reading the time and going to sleep adds to the wait.
func systemNap(base clock.Base) (string, func(now, until clock.Time)) {
	var ts unix.Timespec
	if unix.ClockGettime(unix.CLOCK_MONOTONIC, &ts) != nil {
		return "", nil
	}
	a := align(base, func() int64 {
		_ = unix.ClockGettime(unix.CLOCK_MONOTONIC, &ts)
		return ts.Nano()
	})
	var deadline unix.Timespec
	return "clock_nanosleep to an absolute time", func(_, until clock.Time) {
		deadline = unix.NsecToTimespec(a.counterAt(until))
		// An error is a signal that came between: the caller looks at the time.
		_ = unix.ClockNanosleep(unix.CLOCK_MONOTONIC, unix.TIMER_ABSTIME, &deadline, nil)
	}
}
