package clock

import "time"

// Time is a moment on the monotonic clock, in nanoseconds since the [Base] it
// was read from.
type Time int64

// Spans of Time.
const (
	Microsecond Time = 1_000
	Millisecond Time = 1_000_000
	Second      Time = 1_000_000_000
)

// Sub returns the span from u to t.
func (t Time) Sub(u Time) time.Duration { return time.Duration(t - u) }

// Add returns the moment d after t.
func (t Time) Add(d time.Duration) Time { return t + Time(d) }

// Base is where Time zero lies. It is taken when a program (or a test's fake
// time bubble) starts, never at package initialisation.
type Base struct{ start time.Time }

// NewBase starts counting now.
func NewBase() Base { return Base{start: time.Now()} }

// Now reads the monotonic clock. The loop and the input readers call it;
// everything else is handed a Time.
func (b Base) Now() Time { return Time(time.Since(b.start)) }

// Until returns how long to wait until t.
func (b Base) Until(t Time) time.Duration { return time.Duration(t - b.Now()) }

// Wall returns the date and time of day at t, by the system's clock as it stood
// when the base was taken. For people only: it may jump from run to run.
func (b Base) Wall(t Time) time.Time { return b.start.Add(time.Duration(t)) }

// wallAtZero returns the date and time of day at Time 0, by the system's clock as it stands
// now, as time since 1970 UTC.
func (b Base) wallAtZero() time.Duration {
	now := time.Now()
	return time.Duration(now.UnixNano()) - now.Sub(b.start)
}
