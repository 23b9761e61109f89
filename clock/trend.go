package clock

import (
	"math"
	"slices"
)

// trend fits a cubic curve to the ticks of the last bar by least squares. The residuals
// are the noise, whatever pattern it has from tick to tick.
type trend struct {
	late   [trendStep]float64 // residuals of the middle ticks, ns
	edge   float64            // lateness of the earliest ticks against the curve, ns: negative
	middle Time               // time of the curve at the window's middle tick
	full   bool               // the window has its full length

	power, next, seen float64 // mean square of the residuals, ns²; mean product of neighbours, ns²; fits averaged, at most trendMemory
}

const (
	trendTicks    = 96  // ticks of the window: a bar of four beats
	trendStep     = 4   // ticks between two fits
	trendFirst    = 24  // fewest ticks for a fit
	astraySpread  = 3   // in standard deviations: no noise has a spread as wide
	boundedSpread = 1.9 // in standard deviations: spread of noise without a long tail
	trendMemory   = 60  // fits averaged
)

// tick fits the curve every trendStep ticks, and returns whether it did. It needs ticks
// that are all numbered without a gap.
func (t *trend) tick(l *lock, at Time) bool {
	if l.count < trendFirst || l.count%trendStep != 0 || l.tickBack(0).n-l.tickBack(min(l.count, trendTicks)-1).n != int64(min(l.count, trendTicks))-1 {
		return false
	}
	w, order := trendTicks, 3
	for w > l.count {
		w, order = w/2, order-1
	}
	// Gram's polynomials, which are orthogonal over evenly spaced points.
	var m2, m4 float64
	mid := float64(w-1) / 2
	for i := range w {
		x := float64(i) - mid
		m2 += float64(x * x)
		m4 += float64(x * x * x * x)
	}
	m2, m4 = m2/float64(w), m4/float64(w)
	basis := func(x float64) [4]float64 {
		return [4]float64{1, x, float64(x*x) - m2, x * (float64(x*x) - m4/m2)}
	}
	var c, norm [4]float64
	for i := range w {
		p := basis(float64(i) - mid)
		y := float64(l.tickBack(w-1-i).at - at)
		if i == w-1 {
			y = 0
		}
		for k := range order + 1 {
			c[k] += float64(p[k] * y)
			norm[k] += float64(p[k] * p[k])
		}
	}
	var late [trendTicks]float64
	for i := range w {
		p := basis(float64(i) - mid)
		y := float64(l.tickBack(w-1-i).at - at)
		for k := range order + 1 {
			y -= float64(p[k] * c[k] / norm[k])
		}
		late[i] = y
	}
	t.middle = l.tickBack(w-1-w/2).at - Time(late[w/2])
	copy(t.late[:], late[w/2-trendStep/2:])
	t.full = w == trendTicks
	slices.Sort(late[:w])
	q5, q10 := late[w/20], late[w/10]
	t.edge += (q5 - float64(1.5*(q10-q5)) - t.edge) / min(t.seen+1, trendMemory)
	t.seen = min(t.seen+1, trendMemory)
	var power, next float64
	for i, y := range t.late {
		power += float64(y * y / trendStep)
		if i > 0 {
			next += y * t.late[i-1] / (trendStep - 1)
		}
	}
	t.power += (power - t.power) / t.seen
	t.next += (next - t.next) / t.seen
	return true
}

// spread returns the standard deviation, ns, of independent noise under which a mean
// would be as uncertain as with this noise. It is larger than the noise's own standard
// deviation if neighbouring ticks are correlated.
func (t *trend) spread() float64 {
	if t.power <= 0 {
		return 0
	}
	alike := min(max(t.next/t.power, 0), 0.9)
	return math.Sqrt(t.power * (1 + alike) / (1 - alike))
}
