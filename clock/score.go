package clock

// score measures how far a bank's line was off, about a constant, as hindsight
// has it: against the trend through the bar of which the tick is the middle.
type score struct {
	seen int
	mean float64 // ns
	miss float64 // mean distance from mean, ns
}

const (
	scoreFew   = 6
	scoreTicks = 24 // looks, each trendStep ticks apart
)

// take weighs how far the line was off, ns.
func (s *score) take(off float64) {
	s.seen++
	s.mean += (off - s.mean) / min(float64(s.seen), 2*scoreTicks)
	miss := off - s.mean
	s.miss += (max(miss, -miss) - s.miss) / min(float64(s.seen), scoreTicks)
}

// apart measures how far two lines lie apart, about a constant, beside what one of
// them says of its error.
type apart struct {
	seen, mean, miss, err float64 // ns
}

func (a *apart) take(by, err float64) {
	a.seen = min(a.seen+1, trendTicks)
	a.mean += (by - a.mean) / a.seen
	miss := by - a.mean
	a.miss += (max(miss, -miss) - a.miss) / a.seen
	a.err += (err - a.err) / a.seen
}
