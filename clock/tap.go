package clock

// A tapper turns taps on the beat into a tempo and a phase.
type tapper struct {
	taps [tapWindow]beatTap
	n    int
	odd  float64 // the last gap between taps, ns, if it did not fit the tempo; else 0
}

// beatTap is a tap and its beat, counted from the first tap of the series.
type beatTap struct {
	beat int64
	at   Time
}

const (
	tapWindow  = 8                  // taps used
	tapEnough  = 3                  // fewest taps that give a tempo
	tapAfresh  = 2500 * Millisecond // a longer pause begins a new series
	tapDouble  = 0.45               // a gap of fewer beats than this is a bounce
	tapMissed  = 1.6                // a gap of more beats than this skipped a tap
	tapChanged = 0.2                // two taps this many beats off mean a new tempo
	handSteady = Quarter / 8        // a tap this close to the beat is corrected gently
)

// tap adds a tap to the series. It returns false if the tap was a bounce.
func (s *tapper) tap(at Time) bool {
	if s.n > 0 && at-s.taps[s.n-1].at > tapAfresh {
		s.n = 0
	}
	if s.n == 0 {
		s.odd = 0
		s.taps[0] = beatTap{0, at}
		s.n = 1
		return true
	}
	last := s.taps[s.n-1]
	gap := float64(at - last.at)
	if gap < periodOf(MaxTempo)*24 {
		return false
	}
	steps := int64(1)
	if s.n >= 2 {
		period, _ := s.line()
		ratio := gap / period
		if ratio < tapDouble {
			return false
		}
		if ratio > tapMissed {
			steps = int64(ratio + 0.5)
		}
		off := ratio - float64(steps)
		again := s.n > tapEnough && s.odd > 0 && max(off, -off) > tapChanged/2 && max(gap-s.odd, s.odd-gap) < tapChanged*s.odd
		if s.odd = 0; max(off, -off) > tapChanged {
			s.odd = gap
		}
		if again {
			// Two equal gaps that do not fit the old tempo: a new tempo, from two taps
			// ago on. A hand that slips only once makes one long gap and one short one.
			s.taps[0], s.taps[1] = s.taps[s.n-2], last
			s.taps[0].beat, s.taps[1].beat = 0, 1
			s.n, s.odd, steps = 2, 0, 1
			last = s.taps[1]
		}
	}
	if s.n == tapWindow {
		copy(s.taps[:], s.taps[1:])
		s.n--
	}
	s.taps[s.n] = beatTap{last.beat + steps, at}
	s.n++
	return true
}

// ready tells whether the taps give a tempo.
func (s *tapper) ready() bool { return s.n >= tapEnough }

// line returns the least-squares line through the taps: the length of a beat, ns, and
// the time of the last tap's beat on the line. It needs two taps. People tap early as
// often as late, so the mean is right here; MIDI ticks can only be late, so the lock
// uses the earliest ones.
func (s *tapper) line() (period float64, at Time) {
	last := s.taps[s.n-1]
	var sx, sy, sxx, sxy float64
	for _, p := range s.taps[:s.n] {
		x, y := float64(p.beat-last.beat), float64(p.at-last.at)
		sx += x
		sy += y
		sxx += float64(x * x)
		sxy += float64(x * y)
	}
	n := float64(s.n)
	period = (float64(n*sxy) - float64(sx*sy)) / (float64(n*sxx) - float64(sx*sx))
	return period, last.at + Time((sy-float64(period*sx))/n)
}

// tempo returns the tempo tapped.
func (s *tapper) tempo() Tempo {
	period, _ := s.line()
	return min(max(Tempo(60e15/period+0.5), MinTempo), MaxTempo)
}
