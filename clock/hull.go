package clock

// line2 is a straight line through the newest ticks as they are seen.
type line2 struct{ slope, start float64 }

// see returns the point i places before the newest, seen from the newest with a
// bend taken out, and keeps it for the hull. Without a bend both are whole
// numbers below 2⁴⁸, so that the products below are exact or nearly.
func (l *lock) see(i int, newest point, bend float64) (x, y float64) {
	p := l.back(i)
	x = float64(p.n - newest.n)
	y = float64(p.at-newest.at) + float64(bend/2*float64(x*x))
	l.x[i], l.y[i] = x, y
	return x, y
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
	l.hull[top] = uint16(i)
	return top + 1
}

// edge returns the slope of the hull edge that spans x = mean, and its height
// at x = 0. Among all lines that no arrival lies under it has the least summed
// lateness.
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

// edgeLate is how much further apart ticks are near the edge than a mean
// lateness would have them were delays exponential: half-normal ones, rounded
// up, are rarely on time. Found by trial.
const edgeLate = 1.75

// leastLate keeps ticks that all lie on a line from having no lateness at all, ns.
const leastLate = 10

// middle sets c's line to the mean of all lines that no arrival lies under, each
// weighed by how likely it makes the ticks, were their delays exponential. It is
// less often off than the likeliest line, best, which always touches ticks and
// so is late. (Pitman, 1939: the best estimate of a place; from memory.)
//
// A line of slope s is likely as exp(n·h(s)/m), h being how high it can lie at
// the mean tick. h is straight between the slopes of two hull edges, while the
// line turns on one hull point: so the means are sums over the hull's points.
func (l *lock) middle(c *curve, top int, best line2, meanX, meanY float64) {
	m := edgeLate * max(min(l.noise, 2*c.late), leastLate)
	k := float64(c.points) / m
	var weight, slope, start float64
	for j := range top {
		i := l.hull[j]
		x, y := l.x[i], l.y[i]
		lo, hi := minPeriod, maxPeriod
		if j+1 < top {
			o := l.hull[j+1]
			lo = max(lo, (y-l.y[o])/(x-l.x[o]))
		}
		if j > 0 {
			o := l.hull[j-1]
			hi = min(hi, (l.y[o]-y)/(l.x[o]-x))
		}
		if hi <= lo {
			continue
		}
		above := y - float64(best.slope*x) - best.start
		w, s := turn(k, above, x-meanX, lo-best.slope, hi-best.slope)
		weight += w
		slope += s
		start += float64(w*above) - float64(x*s)
	}
	c.slope, c.start = best.slope, best.start
	if weight > 0 {
		c.slope += slope / weight
		c.start += start/weight - m/float64(c.points)
	}
	c.fit = k * (best.start + float64(best.slope*meanX) - meanY)
	c.weight = weight
}

// turn integrates exp(k·(above - s·arm)) and s times that over slopes s from lo
// to hi.
func turn(k, above, arm, lo, hi float64) (weight, slope float64) {
	q := k * arm
	atLo := decay(k * (float64(lo*arm) - above))
	atHi := decay(k * (float64(hi*arm) - above))
	if r := q * (hi - lo); r > -1e-3 && r < 1e-3 {
		weight = (atLo + atHi) / 2 * (hi - lo)
		return weight, weight * (lo + hi) / 2
	}
	weight = (atLo - atHi) / q
	return weight, (float64(lo*atLo) - float64(hi*atHi) + weight) / q
}

// decay returns about exp(-x), 1 for x below 0. It is the same on every
// processor, which the library's is not, and close enough for weights.
func decay(x float64) float64 {
	if !(x > 0) {
		return 1
	}
	if x > 200 {
		return 0
	}
	x /= 64
	t := 1 + float64(x*(1+float64(x/2*(1+float64(x/3*(1+x/4))))))
	for range 6 {
		t *= t
	}
	return 1 / t
}
