package clock

// fit draws the line under the newest ticks.
//
//	arrival │        ·     ·            late ticks lie above
//	        │     ·     ·____·──        the line rests on the two ticks that
//	        │  ·__·──‾‾                 span the middle of the window
//	        └────────────── tick number
//
// Among all lines that no arrival lies under, the edge of the lower convex hull
// that spans the mean tick number has the least summed lateness: the most
// likely line when delays are exponential and of unknown mean.
//
// How long a window? Its error falls with its length as long as the tempo
// stands, so the longest is taken that agrees with every shorter one: the
// intersection of confidence intervals (Goldenshluger and Nemirovski, 1997;
// from memory). One pass from the newest tick backwards builds the hull of
// every window on its way.
func (l *lock) fit() {
	if l.count < fewTicks {
		l.fitFew()
		return
	}
	newest := *l.back(0)
	var sumX, sumY, mean float64
	starts := interval{-everything, everything}
	slopes := starts
	check, top := fewTicks, 0
	for i := range l.count {
		x, y := l.see(i, newest)
		sumX += x
		sumY += y
		top = l.grow(top, i)
		if i+1 != check && i+1 != l.count {
			continue
		}
		check *= 2
		size := float64(i + 1)
		slope, start := l.edge(top, sumX/size)
		m := max(0, (sumY-float64(slope*sumX)-float64(size*start))/(size-2))
		err := startErr*max(min(m, 2*l.noise), l.noise)/size + stampErr
		if !starts.meet(start, err) || !slopes.meet(slope, slopeErr*err/size) {
			break
		}
		mean = m
		l.line = line{newest.n, newest.at + Time(start), slope, i + 1, err}
	}
	if l.count < lockTicks {
		l.noise = max(l.noise, mean)
	} else if l.line.points >= 2*fewTicks {
		l.noise += (mean - l.noise) / lockTicks
	}
	l.locked = l.line.points >= lockTicks || l.locked && l.line.points >= lockTicks/2
}

// The spread of a fit over n ticks whose mean lateness is m: its end is off by
// about startErr·m/n, its slope by slopeErr/n of that. Found by trial on half-
// normal and exponential delays. stampErr is what a time stamp is good for, ns.
const (
	startErr   = 8
	slopeErr   = 1.9
	stampErr   = 10e3
	confidence = 4 // errors that two windows may disagree by, each
)

// interval is where a value lies by all the windows so far.
type interval struct{ lo, hi float64 }

const everything = 1e18

// meet narrows v to what agrees with x ± err, and returns false if nothing does.
func (v *interval) meet(x, err float64) bool {
	reach := float64(confidence * err)
	v.lo, v.hi = max(v.lo, x-reach), min(v.hi, x+reach)
	return v.lo <= v.hi
}

// see returns the point i places before the newest, seen from the newest, and
// keeps it for the hull. Both are whole numbers below 2⁴⁸, so that the products
// below are exact or nearly.
func (l *lock) see(i int, newest point) (x, y float64) {
	p := l.back(i)
	l.x[i], l.y[i] = float64(p.n-newest.n), float64(p.at-newest.at)
	return l.x[i], l.y[i]
}

// grow adds point i, the leftmost yet, to the lower hull in l.hull[:top].
func (l *lock) grow(top, i int) int {
	x, y := l.x[i], l.y[i]
	for top >= 2 {
		a, b := l.hull[top-1], l.hull[top-2]
		rise, run := l.y[a]-y, l.x[a]-x
		if float64(rise*(l.x[b]-l.x[a])) < float64((l.y[b]-l.y[a])*run) {
			break // the slope rises from left to right: convex
		}
		top--
	}
	l.hull[top] = uint8(i)
	return top + 1
}

// edge returns the slope of the hull edge that spans x = mean, and its height
// at x = 0.
func (l *lock) edge(top int, mean float64) (slope, start float64) {
	j := 1
	for j < top-1 {
		if l.x[l.hull[j]] <= mean {
			break
		}
		j++
	}
	xr, yr := l.x[l.hull[j-1]], l.y[l.hull[j-1]]
	xl, yl := l.x[l.hull[j]], l.y[l.hull[j]]
	slope = (yr - yl) / (xr - xl)
	if slope >= minPeriod && slope <= maxPeriod {
		return slope, yr - float64(slope*xr)
	}
	slope = min(max(slope, minPeriod), maxPeriod)
	return slope, l.under(top, slope)
}

// under returns the height at x = 0 of the highest line of the given slope that
// no hull point lies under.
func (l *lock) under(top int, slope float64) float64 {
	start := float64(everything)
	for _, i := range l.hull[:top] {
		start = min(start, l.y[i]-float64(slope*l.x[i]))
	}
	return start
}

// fitFew fits when the ticks are too few to trust: the tempo before stands
// unless they clearly speak against it.
func (l *lock) fitFew() {
	top, newest := 0, *l.back(0)
	for i := range l.count {
		l.see(i, newest)
		top = l.grow(top, i)
	}
	period := l.line.period
	if l.count > 1 {
		x := l.x[l.count-1]
		slope := min(max(l.y[l.count-1]/x, minPeriod), maxPeriod)
		if miss := (slope - period) * x; max(miss, -miss) > 3*firstNoise {
			period = slope
		}
	}
	start := l.under(top, period)
	l.line = line{newest.n, newest.at + Time(start), period, l.count, firstNoise}
}
