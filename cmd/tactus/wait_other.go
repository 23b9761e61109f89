//go:build !linux

package main

import "tactus/clock"

// waiter returns nil: the loop's own timer serves.
func waiter(clock.Base) func(clock.Time) { return nil }
