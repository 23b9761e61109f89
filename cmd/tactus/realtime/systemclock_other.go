//go:build !linux

package realtime

import "tactus/clock"

// SystemClock returns the clock of this computer that goes on when a process ends. Here it
// is the date and time of day: see clock.SystemClock.Read for what that costs.
func SystemClock() clock.SystemClock { return clock.SystemClock{} }
