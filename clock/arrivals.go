package clock

// Feed says by what pattern the ticks of a MIDI clock arrive.
type Feed uint8

// The patterns, from nothing to bad.
const (
	NoFeed   Feed = iota // no MIDI clock leads
	Learning             // ticks come in, too few yet to tell how
	Even                 // each tick comes when it is due, to about a millisecond
	Uneven               // ticks come late by amounts that differ
	InSteps              // ticks come only at moments that lie Every apart
	InBursts             // ticks are held up now and then, and then come at once
)

// String names the pattern as logs and interfaces print it.
func (f Feed) String() string {
	if f > InBursts {
		return "unknown"
	}
	return [...]string{"none", "learning", "even", "uneven", "steps", "bursts"}[f]
}

// Arrivals describes how the ticks of a MIDI clock come in, as measured.
type Arrivals struct {
	Feed Feed
	// Every is how far apart the moments lie at which ticks come, with InSteps;
	// else 0. A sender that hands out its ticks once for each audio buffer has
	// the buffer's length here.
	Every Time
	// Late is by how much ticks come later than the earliest do, on average;
	// Spread is what 19 in 20 of them stay below.
	Late, Spread Time
	// Unknown is how far off the beat may be by a delay that all ticks share and
	// that the ticks alone cannot tell. It is part of Position.Err.
	Unknown Time
	// Lost and Extra count whole ticks that were put in and taken out.
	Lost, Extra uint32
}

// evenSpread is how late the latest ticks may be that still count as even: what a
// USB port adds that is asked once a millisecond, twice over. Common practice, no
// source.
const evenSpread = 2 * Millisecond

// burstShare is the share of ticks out of a queue that makes a feed one of bursts.
const burstShare = 0.02

// Arrivals returns how the ticks of the MIDI clock come in.
func (t *Transport) Arrivals() Arrivals {
	l := &t.lock
	a := Arrivals{Lost: l.putIn, Extra: l.takenOut}
	if t.source != MIDI {
		return a
	}
	f := &l.banks[closeBank].noise
	a.Late = l.late()
	a.Spread = max(a.Late, Time(f.quantile(0.95)-f.edge))
	a.Unknown = Time(l.halfStep)
	switch {
	case l.count < lockTicks || !l.locked:
		a.Feed = Learning
	case l.lattice.every >= leastShown:
		a.Feed, a.Every = InSteps, Time(l.lattice.every)
		a.Late, a.Spread = a.Every/2, a.Every
	case l.queued > burstShare:
		a.Feed = InBursts
	case a.Spread <= evenSpread:
		a.Feed = Even
	default:
		a.Feed = Uneven
	}
	return a
}

// leastShown is the shortest step, in ns, that is told of: shorter ones are not
// worth a word.
const leastShown = 4e6
