package flash

// tiny is what a step may be short of its limit and still have it: 0.6 - 0.5 is
// not 0.1 in binary.
const tiny = 1e-9

// swing follows luminance between its turning points.
//
//	high ─────╮        a fall counts when y is a Step under the highest since the
//	           ╲  y    last rise, however slowly it went; from then on a rise
//	            ╲╱     counts from the lowest.
type swing struct {
	begun     bool
	way       Way     // of the last change
	low, high float64 // since then
	from      float64 // where it came from
	unsure    bool    // another meter may not have it yet
	lingers   bool    // it went on with the last take while unsure
}

// would returns the change that y completes.
func (s *swing) would(y, margin float64) Way {
	step, bright := Step-2*margin-tiny, Bright+margin
	switch {
	case !s.begun:
	case s.way != Fall && s.high-y >= step && y < bright:
		return Fall
	case s.way != Rise && y-s.low >= step && s.low < bright:
		return Rise
	}
	return Level
}

// take moves on to y.
func (s *swing) take(y, margin float64) Way {
	way := s.would(y, margin)
	s.lingers = false
	switch {
	case !s.begun:
		*s = swing{begun: true, low: y, high: y}
	case way != Level:
		s.from = s.high
		if way == Rise {
			s.from = s.low
		}
		s.way, s.low, s.high = way, y, y
		s.unsure = margin > 0 && !s.sure(y, margin)
	default:
		if s.unsure && (s.way == Fall && y < s.low+2*margin || s.way == Rise && y > s.high-2*margin) {
			s.lingers, s.unsure = true, !s.sure(y, margin)
		}
		s.low, s.high = min(s.low, y), max(s.high, y)
	}
	return way
}

// sure reports whether any meter has the last change by now.
func (s *swing) sure(y, margin float64) bool {
	if s.way == Fall {
		return s.from-y >= Step+2*margin && y < Bright-margin
	}
	return y-s.from >= Step+2*margin
}
