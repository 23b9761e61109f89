package flash

import (
	"tactus/clock"
	"tactus/fixtures"
)

// The limits of WCAG 2.2, definition "general flash and red flash thresholds".
const (
	PerSecond = 3 // flashes of a kind within any Window
	// Window is the second, half open: what was a whole one ago is over. Frames
	// leave some milliseconds sooner or later than they should; a light that
	// flashes three times a second to the beat is not four because of that.
	Window   = clock.Second - 5*clock.Millisecond
	Step     = 0.10 // of full: the smallest change of luminance that counts
	Bright   = 0.80 // of full: changes whose darker state is this bright do not
	RedRatio = 0.80 // R/(R+G+B) of a saturated red, in linear light
	RedStep  = 0.20 // in CIE 1976 u'v': changes of red beyond this count
)

// Kind is what kind of flash.
type Kind uint8

// The kinds of flash.
const (
	General Kind = iota // luminance
	Red                 // to and from saturated red
	NumKinds
)

// String names the kind.
func (k Kind) String() string {
	switch k {
	case General:
		return "general"
	case Red:
		return "red"
	}
	return "unknown"
}

// Rate is flashes a second, by Kind; halves are changes without their opposite.
type Rate [NumKinds]float64

// Most returns the higher of the two.
func (r Rate) Most() float64 { return max(r[General], r[Red]) }

// Second is a second with flashes.
type Second struct {
	Flashes float64    // in it; halves are changes without their opposite
	End     clock.Time // when the last of them was complete
}

// Change says which opposing changes a light completes.
type Change [NumKinds]Way

// Way is the direction of a change.
type Way int8

// The ways of a change. To and from red, Rise is towards red.
const (
	Fall  Way = -1
	Level Way = 0 // no change that counts
	Rise  Way = 1
)

// Counter counts the flashes of one light. The zero Meter counts by the limits
// above; see Strict for another. It holds up to 24 flashes a second of a kind and
// touches no heap.
type Counter struct {
	last      fixtures.RGB
	seen      bool
	luminance luminanceTurns
	red       redTurns
	counts    [NumKinds]changeTimes
	margin    float64
}

// Strict returns a meter that counts changes that are smaller by twice the
// margin, 0..0.02 of full, and those of red by eight times; and while a change is
// within the margin it has not happened yet. What it counts are at least the
// changes that any meter counts whose light differs by less than the margin.
func Strict(margin float64) Counter { return Counter{margin: margin} }

// Luminance returns relative luminance, 0..1, of linear light (WCAG 2.2,
// "relative luminance"; IEC 61966-2-1).
func Luminance(l fixtures.RGB) float64 {
	return float64(0.2126*l[0]) + float64(0.7152*l[1]) + float64(0.0722*l[2])
}

// Observe takes the light at now: linear, with the primaries of sRGB, 1, 1, 1 for
// the full white of what is measured. Time does not go back.
func (m *Counter) Observe(now clock.Time, l fixtures.RGB) {
	if m.seen && l == m.last {
		return
	}
	m.seen, m.last = true, l
	if m.luminance.observe(Luminance(l), m.margin) != Level {
		m.counts[General].record(now)
	} else if m.luminance.ongoing {
		m.counts[General].postpone(now)
	}
	if m.red.observe(l, m.margin) != Level {
		m.counts[Red].record(now)
	} else if m.red.ongoing {
		m.counts[Red].postpone(now)
	}
}

// Predict returns which changes the next See would complete with this light.
func (m *Counter) Predict(l fixtures.RGB) Change {
	if m.seen && l == m.last {
		return Change{}
	}
	return Change{m.luminance.predict(Luminance(l), m.margin), m.red.predict(hueOf(l), m.margin)}
}

// LastLight returns the light that was seen last.
func (m *Counter) LastLight() fixtures.RGB { return m.last }

// LuminanceRange returns the lowest and the highest luminance since the last change.
func (m *Counter) LuminanceRange() (low, high float64) { return m.luminance.low, m.luminance.high }

// Changes returns how many changes of a kind there were in the second up to now,
// and when the first of them will be out of it.
func (m *Counter) Changes(k Kind, now clock.Time) (n int, until clock.Time) {
	return m.counts[k].countAt(now)
}

// Rate returns the flashes in the second up to now: half the changes.
func (m *Counter) Rate(now clock.Time) Rate {
	var r Rate
	for k := range NumKinds {
		n, _ := m.counts[k].countAt(now)
		r[k] = float64(n) / 2
	}
	return r
}

// Worst returns the second with the most flashes of a kind so far, the first of
// equal ones.
func (m *Counter) Worst(k Kind) Second { return m.counts[k].worst }

// Total returns how many changes of a kind there were since the first See.
func (m *Counter) Total(k Kind) uint64 { return m.counts[k].total }
