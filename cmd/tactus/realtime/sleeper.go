package realtime

import (
	"time"

	"tactus/clock"
)

// longestSleep is the longest sleep before the loop checks whether to stop. Frames
// are closer together.
const longestSleep = 50 * clock.Millisecond

// Sleeper waits until given times with the best timer of this system. One goroutine
// on a locked thread may use it.
type Sleeper struct {
	base clock.Base
	Kind string // name of the timer for the log
	nap  func(now, until clock.Time)
}

// NewSleeper returns a Sleeper with the best timer.
func NewSleeper(base clock.Base) *Sleeper {
	kind, nap := systemNap(base)
	if nap == nil {
		return NewPlainSleeper(base)
	}
	return &Sleeper{base: base, Kind: kind, nap: nap}
}

// NewPlainSleeper returns a Sleeper with Go's own timer, for tests in fake time.
func NewPlainSleeper(base clock.Base) *Sleeper {
	return &Sleeper{base: base, Kind: "Go's own timer", nap: goNap()}
}

// Wait blocks until a time, or for 50 ms if that is shorter, so that the loop can
// check whether to stop. A signal does not end the wait.
func (s *Sleeper) Wait(until clock.Time) {
	now := s.base.Now()
	until = min(until, now+longestSleep)
	for now < until {
		s.nap(now, until)
		now = s.base.Now()
	}
}

// goNap waits with Go's timer. On Linux it counts whole milliseconds and wakes up to
// 1.4 ms late.
func goNap() func(now, until clock.Time) {
	t := time.NewTimer(0)
	<-t.C
	return func(now, until clock.Time) {
		t.Reset(until.Sub(now))
		<-t.C
	}
}

// alignment converts Time to a counter of the system. Both must read the same clock,
// so that the offset stays constant.
type alignment struct {
	offset int64 // counter in nanoseconds at Time zero, possibly too high, never too low
}

// align reads the counter between two readings of the base, several times, and uses
// the closest pair. The remaining error is at most the width of that pair, some 100
// ns. It makes a wait longer, never shorter.
func align(base clock.Base, counter func() int64) alignment {
	best := clock.Time(1 << 62)
	var a alignment
	for range 32 {
		before := base.Now()
		c := counter()
		if width := base.Now() - before; width < best {
			best, a.offset = width, c-int64(before)
		}
	}
	return a
}

// counterAt returns a time in nanoseconds of the counter.
func (a alignment) counterAt(t clock.Time) int64 { return int64(t) + a.offset }
