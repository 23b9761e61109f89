package realtime

import (
	"golang.org/x/sys/unix"

	"tactus/clock"
)

// systemNap sleeps until an absolute time of CLOCK_MONOTONIC, the clock of Go's
// monotonic time on Linux (runtime, nanotime1). A delay between reading the time and
// going to sleep does not lengthen the wait.
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
		// An error means that a signal ended the sleep: the caller checks the time.
		_ = unix.ClockNanosleep(unix.CLOCK_MONOTONIC, unix.TIMER_ABSTIME, &deadline, nil)
	}
}
