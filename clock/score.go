package clock

// score averages the error of a line about its mean, measured against the trend
// through the bar of which the tick is the middle.
type score struct {
	seen int
	mean float64 // ns
	miss float64 // mean distance from mean, ns
}

const (
	scoreFew   = 6
	scoreTicks = 24 // looks, each trendStep ticks apart
)

// add adds an error of the line, ns.
func (s *score) add(off float64) {
	s.seen++
	s.mean += (off - s.mean) / min(float64(s.seen), 2*scoreTicks)
	miss := off - s.mean
	s.miss += (max(miss, -miss) - s.miss) / min(float64(s.seen), scoreTicks)
}

// apart averages the distance of two lines about its mean, and the error that one of
// them claims.
type apart struct {
	seen, mean, miss, err float64 // ns
}

func (a *apart) add(by, err float64) {
	a.seen = min(a.seen+1, trendTicks)
	a.mean += (by - a.mean) / a.seen
	miss := by - a.mean
	a.miss += (max(miss, -miss) - a.miss) / a.seen
	a.err += (err - a.err) / a.seen
}

// doubt is a factor on the error bounds of lines: it grows with each error that exceeded
// its bound, and shrinks with each that did not, so that 19 in 20 are within (as adaptive conformal inference does; I. Gibbs and E. Candès, 2021;
// from memory).
type doubt struct {
	factor float64 // 1 or more
	score  score
	at     [trendTicks]Time    // when the last ticks fell, as shown
	err    [trendTicks]float64 // error bounds shown with them, ns
}

const (
	doubtUp   = 1.1
	doubtDown = 0.995 // nineteen of these undo one doubtUp
	doubtMost = 20
)

// check compares what was shown for a tick with the time that hindsight gives it.
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

// record keeps the time shown for a tick, and its error bound, ns.
func (d *doubt) record(i int, at Time, err float64) {
	d.at[i], d.err[i] = at, err
	d.factor = max(d.factor, 1)
}
