package clock

import "math"

// loop is a delay-locked loop of the second order: it corrects the expected time of the
// next tick, and the period, by fixed parts of each tick's error. It assumes nothing about
// the noise. It is shown if its errors are clearly smaller than those of the banks.
// (F. Adriaensen, "Using a DLL to filter time", 2005.)
type loop struct {
	next   float64 // when the next tick is expected, ns from the last arrival
	period float64 // ns
	seen   int     // ticks since begin
	line   line
	times  [trendTicks]Time // the times of the last ticks, as estimated when each arrived
	score  score
}

const loopHertz = 0.5 // bandwidth

// begin starts from a straight line through the last ticks: off is the time of the newest
// tick on it, ns from its arrival; period is in ns.
func (d *loop) begin(off, period float64) { *d = loop{next: off + period, period: period} }

// tick processes a tick that arrived gap ns after the one before, and returns the
// tick's estimated time, ns from its arrival.
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

// straightLine returns the straight line of least squares through the last ticks: off is the
// time of the newest tick on it, ns from its arrival; period is in ns.
func (l *lock) straightLine(ticks int) (off, period float64) {
	n := min(ticks, l.count)
	newest := l.tickBack(0)
	var sx, sy, sxx, sxy float64
	for i := range n {
		x, y := float64(l.tickBack(i).n-newest.n), float64(l.tickBack(i).at-newest.at)
		sx, sy = sx+x, sy+y
		sxx += float64(x * x)
		sxy += float64(x * y)
	}
	w := float64(n)
	period = (float64(w*sxy) - float64(sx*sy)) / (float64(w*sxx) - float64(sx*sx))
	return (sy - float64(period*sx)) / w, min(max(period, minPeriod), maxPeriod)
}
