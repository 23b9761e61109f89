package realtime

import (
	"os"
	"strings"

	"golang.org/x/sys/unix"

	"tactus/clock"
)

// bootFile has an identifier that is drawn anew at each start of the computer (random(4)).
const bootFile = "/proc/sys/kernel/random/boot_id"

// SystemClock returns the clock of this computer that goes on when a process ends, by which
// times are continued after a restart: CLOCK_MONOTONIC, which stands still while the
// computer sleeps (clock_gettime(2)), as Go's monotonic time does.
func SystemClock() clock.SystemClock {
	boot, err := os.ReadFile(bootFile)
	var ts unix.Timespec
	if err != nil || unix.ClockGettime(unix.CLOCK_MONOTONIC, &ts) != nil {
		return clock.SystemClock{}
	}
	return clock.SystemClock{Boot: strings.TrimSpace(string(boot)), Read: func() clock.Time {
		var ts unix.Timespec
		_ = unix.ClockGettime(unix.CLOCK_MONOTONIC, &ts) // it worked before
		return clock.Time(ts.Nano())
	}}
}
