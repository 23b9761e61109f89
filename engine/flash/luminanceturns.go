package flash

// rounding is how far a step may be short of its limit: 0.6 - 0.5 is not 0.1 in
// binary.
const rounding = 1e-9

// luminanceTurns finds the changes of luminance between its turning points.
//
//	high ─────╮        a fall counts when y is a Step under the highest since the
//	           ╲  y    last rise, however slowly it went; from then on a rise
//	            ╲╱     counts from the lowest.
type luminanceTurns struct {
	low, high float64 // since the last change
	from      float64 // luminance from which the last change came
	started   bool
	uncertain bool // a counter of slightly other light may not have the last change yet
	way       Way  // of the last change
}

// predict returns the change that y completes.
func (s *luminanceTurns) predict(y, margin float64) Way {
	step, bright := Step-2*margin-rounding, Bright+margin
	switch {
	case !s.started:
	case s.way != Fall && s.high-y >= step && y < bright:
		return Fall
	case s.way != Rise && y-s.low >= step && s.low < bright:
		return Rise
	}
	return Level
}

// observe takes the next luminance. It returns the change that y completes, or
// Level and whether an uncertain change is going on.
func (s *luminanceTurns) observe(y, margin float64) (way Way, ongoing bool) {
	way = s.predict(y, margin)
	switch {
	case !s.started:
		*s = luminanceTurns{started: true, low: y, high: y}
	case way != Level:
		s.from = s.high
		if way == Rise {
			s.from = s.low
		}
		s.way, s.low, s.high = way, y, y
		s.uncertain = margin > 0 && !s.certain(y, margin)
	default:
		if s.uncertain && (s.way == Fall && y < s.low+2*margin || s.way == Rise && y > s.high-2*margin) {
			ongoing, s.uncertain = true, !s.certain(y, margin)
		}
		s.low, s.high = min(s.low, y), max(s.high, y)
	}
	return way, ongoing
}

// certain reports whether every counter within the margin has the last change.
func (s *luminanceTurns) certain(y, margin float64) bool {
	if s.way == Fall {
		return s.from-y >= Step+2*margin && y < Bright-margin
	}
	return y-s.from >= Step+2*margin
}
