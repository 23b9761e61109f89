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

// doubt holds what lines say of their error to what hindsight finds: it grows with
// each error that was larger, and shrinks with each that was not, so that 19 in 20
// are covered (as adaptive conformal inference does; I. Gibbs and E. Candès, 2021;
// from memory).
type doubt struct {
	by    float64 // what errors are to be taken times; 1: as lines say
	score score
	at    [trendTicks]Time    // where the last ticks were shown to fall
	err   [trendTicks]float64 // what was said of their error, ns
}

const (
	doubtUp   = 1.1
	doubtDown = 0.995 // nineteen of these undo one doubtUp
	doubtMost = 20
)

// look weighs the line that was shown for a tick, which hindsight has fall at truth.
func (d *doubt) look(i int, truth Time) {
	if d.at[i] == 0 {
		return
	}
	off := float64(d.at[i] - truth)
	d.score.take(off)
	if off -= d.score.mean; d.score.seen < scoreFew {
		return
	}
	if max(off, -off) > d.by*d.err[i] {
		d.by = min(d.by*doubtUp, doubtMost)
	} else {
		d.by = max(d.by*doubtDown, 1)
	}
}

// note keeps what is shown for a tick, and what is said of its error.
func (d *doubt) note(i int, at Time, err float64) {
	d.at[i], d.err[i] = at, err
	d.by = max(d.by, 1)
}
