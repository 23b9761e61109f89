package clock

// score averages the errors of a line, each measured against the trend: a smooth curve
// through the bar around the tick, so half a bar later.
type score struct {
	seen         int     // errors averaged
	mean         float64 // mean error, ns
	meanDistance float64 // mean distance of the errors from mean, ns
}

const (
	scoreFew   = 6  // fewer errors than this say little
	scoreTicks = 24 // errors averaged, each trendStep ticks apart
)

// add adds an error of the line, ns.
func (s *score) add(off float64) {
	s.seen++
	s.mean += (off - s.mean) / min(float64(s.seen), 2*scoreTicks)
	miss := off - s.mean
	s.meanDistance += (max(miss, -miss) - s.meanDistance) / min(float64(s.seen), scoreTicks)
}

// apart averages how far two lines lie apart: the mean of the distance, the mean distance
// from that mean (miss), and the noise measured by the trend at the same ticks (err). All
// in ns but seen, the number of ticks averaged.
type apart struct {
	seen, mean, meanDistance, err float64
}

func (a *apart) add(by, err float64) {
	a.seen = min(a.seen+1, trendTicks)
	a.mean += (by - a.mean) / a.seen
	miss := by - a.mean
	a.meanDistance += (max(miss, -miss) - a.meanDistance) / a.seen
	a.err += (err - a.err) / a.seen
}

// doubt is a factor on the error bounds of lines. It grows with each error that exceeds
// its bound, and shrinks with each that does not, so that 19 errors in 20 are within their
// bounds (as in adaptive conformal inference; I. Gibbs and E. Candès, 2021; from memory).
type doubt struct {
	factor float64 // 1 or more
	score  score
	at     [trendTicks]Time    // when the last ticks fell, as shown
	err    [trendTicks]float64 // error bounds shown with them, ns
}

const (
	doubtUp   = 1.1   // the factor is multiplied by this for an error beyond its bound
	doubtDown = 0.995 // and by this for an error within it: nineteen undo one doubtUp
	doubtMost = 20    // largest factor
)

// check compares the time shown for tick i with the time that the trend gives it later.
func (d *doubt) check(i int, truth Time) {
	if d.at[i] == 0 {
		return
	}
	off := float64(d.at[i] - truth)
	d.score.add(off)
	if off -= d.score.mean; d.score.seen < scoreFew {
		return
	}
	if max(off, -off) > d.factor*d.err[i] {
		d.factor = min(d.factor*doubtUp, doubtMost)
	} else {
		d.factor = max(d.factor*doubtDown, 1)
	}
}

// record stores the time shown for tick i, and its error bound, ns.
func (d *doubt) record(i int, at Time, err float64) {
	d.at[i], d.err[i] = at, err
	d.factor = max(d.factor, 1)
}
