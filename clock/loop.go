package clock

import "math"

// loop is a delay-locked loop of the second order: it corrects the time expected of the
// next tick, and the period, by fixed parts of each tick's error. It assumes nothing of
// the noise, and is shown when all hypotheses fail. (F. Adriaensen, "Using a DLL to filter time", 2005.)
type loop struct {
	next   float64 // when the next tick is expected, ns from the last arrival
	period float64 // ns
	seen   int
	line   line
	lines  [trendTicks]Time
	score  score
}

const loopHertz = 0.5

// begin starts from a line through the last ticks: where it has the newest, ns from its
// arrival, and the period, ns.
func (d *loop) begin(off, period float64) { *d = loop{next: off + period, period: period} }

// tick takes a tick that came gap ns after the one before, and returns where it
// fell, ns from when it came.
func (d *loop) tick(gap float64) float64 {
	w := 2 * math.Pi * loopHertz * d.period / 1e9
	miss := gap - d.next
	off := -miss
	d.next = off + float64(math.Sqrt2*w*miss) + d.period
	d.period += float64(w * w * miss)
	d.period = min(max(d.period, minPeriod), maxPeriod)
	d.seen++
	return off
}

// recent returns the straight line of least squares through the last ticks: where
// it has the newest, ns from when it arrived, and the period.
func (l *lock) recent(ticks int) (off, period float64) {
	n := min(ticks, l.count)
	newest := l.back(0)
	var sx, sy, sxx, sxy float64
	for i := range n {
		x, y := float64(l.back(i).n-newest.n), float64(l.back(i).at-newest.at)
		sx, sy = sx+x, sy+y
		sxx += float64(x * x)
		sxy += float64(x * y)
	}
	w := float64(n)
	period = (float64(w*sxy) - float64(sx*sy)) / (float64(w*sxx) - float64(sx*sx))
	return (sy - float64(period*sx)) / w, min(max(period, minPeriod), maxPeriod)
}
