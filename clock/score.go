package clock

// score measures how well a bank foretells when ticks come, two beats ahead.
type score struct {
	at     [aheadTicks]point
	period [aheadTicks]float64
	seen   int
	miss   float64 // mean miss, ns
}

const (
	aheadTicks = 48
	scoreTicks = 96
)

// take notes what a line foretells, and weighs what it foretold of this tick.
func (s *score) take(at Time, count int, late float64, l *line) {
	i := count % aheadTicks
	if s.seen >= aheadTicks {
		p := &s.at[i]
		miss := float64(at-p.at) - late - float64(float64(l.n-p.n)*s.period[i])
		miss = min(max(miss, -miss), 2*l.period)
		s.miss += (miss - s.miss) / min(float64(s.seen-aheadTicks+1), scoreTicks)
	}
	s.at[i], s.period[i] = point{l.n, l.at}, l.period
	s.seen++
}
