package clock

// Feed is the pattern in which the ticks of a MIDI clock arrive.
type Feed uint8

// The patterns. The tempo lock follows Even best and InBursts worst.
const (
	NoFeed   Feed = iota // no MIDI clock leads
	Learning             // ticks arrive, but too few yet to know the pattern
	Even                 // 19 in 20 ticks are at most 2 ms later than the earliest ones
	Uneven               // ticks are late by different amounts
	InSteps              // ticks arrive only at moments a fixed time apart: Arrivals.Every
	InBursts             // now and then several ticks wait in a queue and arrive together
)

// String names the pattern as logs and interfaces print it.
func (f Feed) String() string {
	if f > InBursts {
		return "unknown"
	}
	return [...]string{"none", "learning", "even", "uneven", "steps", "bursts"}[f]
}

// Arrivals describes how the ticks of a MIDI clock arrive, as measured.
type Arrivals struct {
	Feed Feed
	// Every is the time between the moments at which ticks can arrive, if Feed is
	// InSteps; else 0. A sender that sends its ticks once per audio buffer has the
	// buffer's length here.
	Every Time
	// Late is how much later than the earliest ticks a tick arrives, on average.
	// 19 in 20 ticks are at most Spread later.
	Late, Spread Time
	// Unknown is the part of Position.Err that no tick can show: all ticks may be
	// early or late in their steps by this much. It is 0 unless ticks arrive in steps.
	Unknown Time
	// Lost counts ticks that did not arrive and were added to the count; Extra
	// counts ticks that arrived twice and were taken out of it.
	Lost, Extra uint32
}

// evenSpread is the largest Spread of an Even feed: twice the millisecond that a USB
// port adds when the computer asks it once a millisecond. Common practice, no source.
const evenSpread = 2 * Millisecond

// burstShare is the share of ticks, 0..1, that must come out of a queue for a feed to
// be InBursts.
const burstShare = 0.02

// Arrivals returns how the ticks of the MIDI clock arrive. While no MIDI clock leads,
// all but Lost and Extra is zero.
func (t *Transport) Arrivals() Arrivals {
	l := &t.lock
	a := Arrivals{Lost: l.putIn, Extra: l.takenOut}
	if t.source != MIDI {
		return a
	}
	f := &l.banks[closeBank].noise
	a.Late = l.meanLateness()
	a.Spread = max(a.Late, Time(f.quantile(0.95)-f.edge))
	a.Unknown = Time(l.halfStep)
	switch {
	case l.count < lockTicks || !l.locked:
		a.Feed = Learning
	case l.lattice.every >= minShownStep:
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

// minShownStep is the shortest step, ns, that makes a feed InSteps: shorter steps move
// the light too little to be seen.
const minShownStep = 4e6
