package clock

import (
	"errors"
	"fmt"
	"time"
)

// ErrOrigin is wrapped by errors of an Origin that this process cannot go on from.
var ErrOrigin = errors.New("the earlier run's times cannot be continued")

// SystemClock is a clock of the computer that goes on when a process ends: CLOCK_MONOTONIC
// on Linux. The caller reads it, as this package does no input or output.
type SystemClock struct {
	// Boot tells starts of the computer apart, as /proc/sys/kernel/random/boot_id does;
	// "": not known.
	Boot string
	// Read returns the time since a fixed moment of this start of the computer. Nil: there
	// is no such clock, and the date and time of day is used, which people and time
	// servers set: it is off by whatever they changed since.
	Read func() Time
}

// Origin says where Time 0 of a Base lies on clocks that outlast the process, so that
// another process can go on with the same times.
type Origin struct {
	Boot   string        // SystemClock.Boot
	Steady bool          // System was read; else only Wall counts
	System Time          // of SystemClock.Read at Time 0
	Wall   time.Duration // date and time of day at Time 0, as time since 1970 UTC
}

// MaxAway is how long a process may have been away at most if only the date and time of day
// can tell.
const MaxAway = 24 * time.Hour

// mostReads is how often the two clocks are read to find a pair of readings close together.
const mostReads = 8

// Origin returns where Time 0 lies by the system's clocks. With SystemClock.Read it is good
// to some microseconds.
func (b Base) Origin(c SystemClock) Origin {
	now, system := readTogether(b.Now, c.Read)
	return Origin{Boot: c.Boot, Steady: c.Read != nil, System: system - now, Wall: b.wallAtZero()}
}

// readTogether reads two clocks at nearly the same moment: of some tries it takes the one
// with the least time between.
func readTogether(read, system func() Time) (now, then Time) {
	if system == nil {
		return read(), 0
	}
	least := Time(-1)
	for range mostReads {
		before := system()
		n := read()
		after := system()
		if gap := after - before; least < 0 || gap < least {
			now, then, least = n, before+gap/2, gap
		}
	}
	return now, then
}

// ResumeBase returns a base that goes on with the times of the one that an Origin was taken
// from, in this or an earlier process on the same computer. last is the latest of those
// times that is known. Errors wrap ErrOrigin: the computer was started again since, last
// lies ahead of the present, or only the date and time of day could tell and last is more
// than MaxAway ago. Then NewBase().Shifted(last) goes on from last, as if no time had passed.
func ResumeBase(o Origin, last Time, c SystemClock) (Base, error) {
	base := NewBase()
	steady := o.Steady && c.Read != nil
	if o.Boot != c.Boot && (steady || o.Boot != "" && c.Boot != "") {
		return Base{}, fmt.Errorf("%w: this computer was started again since (boot %q, now %q)", ErrOrigin, o.Boot, c.Boot)
	}
	by, clock := Time(base.wallAtZero()-o.Wall), "the date and time of day"
	if steady {
		now, system := readTogether(base.Now, c.Read)
		by, clock = system-o.System-now, "the system's clock"
	}
	base = base.Shifted(by)
	switch away := base.Now() - last; {
	case away < 0:
		return Base{}, fmt.Errorf("%w: they end %v from now, by %s", ErrOrigin, (-away).Sub(0), clock)
	case !steady && away.Sub(0) > MaxAway:
		return Base{}, fmt.Errorf("%w: they ended %v ago, at most %v by %s", ErrOrigin, away.Sub(0), MaxAway, clock)
	}
	return base, nil
}

// Shifted returns a base by which it is later by a span: for the times of another computer,
// whose clock was that much ahead when both were compared.
func (b Base) Shifted(by Time) Base { return Base{start: b.start.Add(-time.Duration(by))} }

// Earlier returns the origin of a time line whose Time 0 lies earlier by a span.
func (o Origin) Earlier(by Time) Origin {
	o.System -= by
	o.Wall -= time.Duration(by)
	return o
}

// Code writes or reads all fields.
func (o *Origin) Code(c *Coder) {
	c.Text(&o.Boot)
	c.Bools(&o.Steady)
	CodeInts(c, &o.System)
	CodeInts(c, &o.Wall)
}
