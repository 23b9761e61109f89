package realtime

import (
	"time"

	"tactus/clock"
)

// longestSleep is the longest sleep without a look whether the loop is to stop. Frames
// are closer together.
const longestSleep = 50 * clock.Millisecond

// Sleeper waits for moments with the best timer of this system. It is for one
// goroutine, on a locked thread.
type Sleeper struct {
	base clock.Base
	Kind string // in words, for the log
	nap  func(now, until clock.Time)
}

// NewSleeper finds the timer.
func NewSleeper(base clock.Base) *Sleeper {
	kind, nap := systemNap(base)
	if nap == nil {
		return NewPlainSleeper(base)
	}
	return &Sleeper{base: base, Kind: kind, nap: nap}
}

// NewPlainSleeper waits with Go's own timer, which tests in fake time need.
func NewPlainSleeper(base clock.Base) *Sleeper {
	return &Sleeper{base: base, Kind: "Go's own timer", nap: goNap()}
}

// Wait blocks until a moment, or for 50 ms if that comes first: the loop looks whether
// it is to stop, and waits again. A signal does not end the wait.
func (s *Sleeper) Wait(until clock.Time) {
	now := s.base.Now()
	until = min(until, now+longestSleep)
	for now < until {
		s.nap(now, until)
		now = s.base.Now()
	}
}

// goNap waits with Go's timer: whole milliseconds on Linux, and up to 1.4 ms
// late there.
func goNap() func(now, until clock.Time) {
	t := time.NewTimer(0)
	<-t.C
	return func(now, until clock.Time) {
		t.Reset(until.Sub(now))
		<-t.C
	}
}

// alignment relates Time to a counter of the system that never stops for it.
// Both must read the same clock, so that the distance stays what it is.
type alignment struct {
	offset int64 // counter in nanoseconds at Time zero, never too low
}

// align reads the counter between two readings of the base, several times over,
// and keeps the pair that lay closest together: what is left of an error is
// its width, some 100 ns, and makes a wait longer, never shorter.
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

// counterAt returns a moment in nanoseconds of the counter.
func (a alignment) counterAt(t clock.Time) int64 { return int64(t) + a.offset }
