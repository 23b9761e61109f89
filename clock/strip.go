package clock

// strip holds all straight lines that agree with the last ticks, when each tick was sent
// within one step of a lattice before it arrived. These lines form a convex polygon in the
// plane of two numbers: the time of the newest tick, and the period. The middle of the
// polygon is the estimate. A filter that keeps only a mean and a variance would count the
// same bound again with each tick. (Set-membership estimation: F. C. Schweppe, 1968; from
// memory.)
type strip struct {
	at    [stripCorners]corner // the corners of the polygon, in order
	n     int                  // how many corners; 0: no polygon
	ticks int                  // how many ticks bound the polygon
	slack float64              // how far a tick may lie outside its step, ns
}

// corner is a line: off is the time of the newest tick, ns from when it arrived; period is
// in ns.
type corner struct{ off, period float64 }

const (
	stripCorners = 32
	stripLeast   = 24  // fewest ticks for it to be used
	stripLong    = 192 // ticks on one straight line: the tempo is constant
)

// begin sets the polygon to all lines with 0.7 to 1.4 times a period and with the newest
// tick at most late before, and soon after, it arrived. All in ns.
func (s *strip) begin(period, soon, late float64) {
	s.n, s.ticks = 4, 1
	lo, hi := 0.7*period, 1.4*period
	s.at[0], s.at[1] = corner{-late, lo}, corner{soon, lo}
	s.at[2], s.at[3] = corner{soon, hi}, corner{-late, hi}
}

// tick moves the lines to a tick that arrived gap ns after the one before and is steps
// ticks later, and keeps those on which it is at most late before, and soon after, it
// arrived. It returns false if no line is left.
func (s *strip) tick(gap float64, steps int64, soon, late float64) bool {
	for i := range s.n {
		s.at[i].off += float64(float64(steps)*s.at[i].period) - gap
	}
	if steps == 0 {
		return true // the tick arrived twice
	}
	s.ticks++
	return s.cutOff(1, soon) && s.cutOff(-1, late)
}

// changeTempo changes the tempo of all lines before the next tick: for a share (0..1) of the tick
// the period is the old one, then it is ratio times the old one.
func (s *strip) changeTempo(ratio, share float64) {
	for i := range s.n {
		c := &s.at[i]
		c.off += float64(share * (1 - ratio) * c.period)
		c.period *= ratio
	}
}

// cutOff keeps the part of the polygon where sign·off ≤ most. It returns false if nothing is
// left, or if there are too many corners.
func (s *strip) cutOff(sign, most float64) bool {
	var kept [stripCorners]corner
	n := 0
	keep := func(c corner) {
		if n > 0 && c.near(kept[n-1]) {
			return // equal bounds would make the same corner again and again
		}
		if n < stripCorners {
			kept[n] = c
			n++
		}
	}
	for i := range s.n {
		a, b := s.at[i], s.at[(i+1)%s.n]
		da, db := most-sign*a.off, most-sign*b.off
		if da >= 0 {
			keep(a)
		}
		if (da < 0) != (db < 0) {
			t := da / (da - db)
			keep(corner{a.off + float64(t*(b.off-a.off)), a.period + float64(t*(b.period-a.period))})
		}
	}
	if n > 1 && kept[0].near(kept[n-1]) {
		n--
	}
	s.at, s.n = kept, n
	return n >= 3 && n < stripCorners
}

// near tells whether two lines are the same to within a nanosecond in a tick.
func (c corner) near(o corner) bool {
	off, period := c.off-o.off, c.period-o.period
	return max(off, -off) < 100 && max(period, -period) < 1
}

// middle returns the polygon's centre of area, and half its width in each direction.
func (s *strip) middle() (mid, half corner) {
	lo, hi := s.at[0], s.at[0]
	var area float64
	o := s.at[0]
	for i := 1; i < s.n; i++ {
		a := s.at[i]
		lo.off, hi.off = min(lo.off, a.off), max(hi.off, a.off)
		lo.period, hi.period = min(lo.period, a.period), max(hi.period, a.period)
		if i+1 < s.n {
			b := s.at[i+1]
			w := float64((a.off-o.off)*(b.period-o.period)) - float64((b.off-o.off)*(a.period-o.period))
			area += w
			mid.off += float64(w * (a.off + b.off + o.off) / 3)
			mid.period += float64(w * (a.period + b.period + o.period) / 3)
		}
	}
	half = corner{(hi.off - lo.off) / 2, (hi.period - lo.period) / 2}
	if area == 0 {
		return corner{(hi.off + lo.off) / 2, (hi.period + lo.period) / 2}, half
	}
	return corner{mid.off / area, mid.period / area}, half
}

// follow adds the newest tick of a lock. If no line is left, it starts again from the
// longest run of last ticks that a straight line fits.
func (s *strip) follow(l *lock) {
	gap, steps := l.gapTo(0)
	every := l.lattice.every
	if s.n > 0 && s.tick(gap, steps, s.slack, every+s.slack) {
		return
	}
	for run := stripLong; run >= fewTicks; run /= 2 {
		for slack := 0.005 * every; run <= l.count && slack < max(0.035*every, 2*l.lattice.jitter); slack *= 2.5 {
			if slack < l.lattice.jitter/2 {
				continue
			}
			s.slack = slack
			if s.fit(l, run, slack, every+slack) {
				return
			}
		}
	}
	s.n = 0
}

// fit sets the polygon from the last run ticks of a lock. It returns false if no straight
// line fits them.
func (s *strip) fit(l *lock, run int, soon, late float64) bool {
	s.begin(l.line.period, soon, late)
	for i := run - 2; i >= 0; i-- {
		if gap, steps := l.gapTo(i); !s.tick(gap, steps, soon, late) {
			return false
		}
	}
	return true
}

// gapTo returns the time, ns, between a tick and the one before it, and the difference of
// their numbers, 0..16. i is the tick's place before the newest.
func (l *lock) gapTo(i int) (gap float64, steps int64) {
	a, b := l.tickBack(i), l.tickBack(i+1)
	return float64(a.at - b.at), min(max(a.n-b.n, 0), 16)
}
