package flash

import (
	"tactus/clock"
	"tactus/fixtures"
)

// The limits of WCAG 2.2, definition "general flash and red flash thresholds".
const (
	PerSecond = 3 // flashes of a kind within any Window
	// Window is the second within which flashes are counted. It is 5 ms shorter than a
	// second because frames leave some milliseconds early or late: otherwise a light
	// that flashes three times a second on the beat could count as four flashes.
	Window   = clock.Second - 5*clock.Millisecond
	Step     = 0.10 // of full: the smallest change of luminance that counts
	Bright   = 0.80 // of full: changes do not count if the darker state is at least this bright
	RedRatio = 0.80 // R/(R+G+B) of a saturated red, in linear light
	RedStep  = 0.20 // in CIE 1976 u'v': a change of red counts if it is larger than this
)

// Kind is a kind of flash.
type Kind uint8

// The kinds of flash.
const (
	General Kind = iota // luminance
	Red                 // to and from saturated red
	NumKinds
)

// String names the kind.
func (k Kind) String() string { return [...]string{"general", "red", "unknown"}[min(k, NumKinds)] }

// Rate is flashes a second, by Kind; a change without its opposite is half a flash.
type Rate [NumKinds]float64

// Most returns the highest rate of all kinds.
func (r Rate) Most() float64 { return max(r[General], r[Red]) }

// Second is a second with flashes.
type Second struct {
	Flashes float64    // a change without its opposite is half a flash
	End     clock.Time // when the last of them was complete
}

// Change is the changes that a light completes, by Kind.
type Change [NumKinds]Way

// Way is the direction of a change.
type Way int8

// The ways of a change. For Red, Rise is towards red.
const (
	Fall  Way = -1
	Level Way = 0 // no change that counts
	Rise  Way = 1
)

// Counter counts the flashes of one light. The zero Counter counts by the
// limits above; see Strict for another. It counts up to 24 flashes a second of a
// kind and allocates nothing.
type Counter struct {
	turns Turns
	times Times
}

// Strict returns a counter for light that is known only to a margin; see StrictTurns.
func Strict(margin float64) Counter { return Counter{turns: StrictTurns(margin)} }

// Luminance returns relative luminance of linear light, 0..1 (WCAG 2.2, "relative
// luminance"; IEC 61966-2-1). A deep colour that is brighter than white can be has more.
func Luminance(l fixtures.RGB) float64 {
	return float64(0.2126*l[0]) + float64(0.7152*l[1]) + float64(0.0722*l[2])
}

// Observe takes the light at now: linear, with the primaries of sRGB, 1, 1, 1 for
// full white. Time does not go back.
func (m *Counter) Observe(now clock.Time, l fixtures.RGB) {
	if m.turns.seen && l == m.turns.last {
		return
	}
	sample := SampleOf(l)
	m.times.Update(now, m.turns.Observe(&sample))
}

// Predict returns the changes that Observe would complete with this light.
func (m *Counter) Predict(l fixtures.RGB) Change {
	sample := SampleOf(l)
	return m.turns.Predict(&sample)
}

// Changes returns how many changes of a kind there were in the second up to now,
// and when the first of them leaves it.
func (m *Counter) Changes(k Kind, now clock.Time) (n int, until clock.Time) {
	return m.times.Changes(k, now)
}

// Rate returns the flashes in the second up to now: half the changes.
func (m *Counter) Rate(now clock.Time) Rate { return m.times.Rate(now) }
