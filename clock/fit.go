package clock

// fit draws the curve under the newest ticks.
//
//	arrival │        ·     ·            late ticks lie above
//	        │     ·     ·____·──        the line rests on the two ticks that
//	        │  ·__·──‾‾                 span the middle of the window
//	        └────────────── tick number
//
// How long a window? Its error falls with its length as long as the tempo
// stands, so the longest is taken that agrees with every shorter one: the
// intersection of confidence intervals (Goldenshluger and Nemirovski, 1997;
// from memory). One pass from the newest tick backwards builds the lower hull
// of every window on its way.
//
// A tempo that drifts bends the line, and a straight one has to be short. So the
// windows are then tried along a few curves too; those that reach furthest back
// are averaged, each by how likely it makes the ticks.
func (l *lock) fit() {
	if l.count < fewTicks {
		l.fitFew()
		return
	}
	var curves [1 + 2*numBends]curve
	curves[0] = l.along(0)
	n := 1
	if l.count >= bentTicks && curves[0].points < l.count {
		// A BPM a minute, in ns a tick and tick.
		unit := l.line.period * l.line.period * l.line.period * 24 / 3600e18
		for bend := firstBend; n < len(curves); bend *= 2 {
			curves[n], curves[n+1] = l.along(bend*unit), l.along(-bend*unit)
			n += 2
		}
	}
	f := average(curves[:n])
	newest := *l.back(0)
	l.line = line{newest.n, newest.at + Time(f.start), f.slope, f.points, f.err}
	if l.count < lockTicks {
		l.noise = max(l.noise, f.late)
	} else if l.line.points >= 2*fewTicks {
		l.noise += (f.late - l.noise) / lockTicks
	}
	l.locked = l.line.points >= lockTicks || l.locked && l.line.points >= lockTicks/2
}

// curve is what a fit made of the ticks, seen from the newest.
type curve struct {
	points       int
	slope, start float64 // at the newest tick: ns a tick, and ns
	late         float64 // mean lateness, ns
	err          float64 // what start may be off by, ns
	fit, weight  float64 // likelihood: weight·exp(fit)
}

// The bends that are tried, in BPM a minute: 3, 6 and 12 either way. One is
// as likely as bentOdds of the straight line beforehand.
const (
	numBends  = 3
	firstBend = 3.0
	bentTicks = 192 // less far back, a bend says nothing a short window does not
	bentOdds  = 0.02
)

// The spread of a fit over n ticks whose mean lateness is m: its end is off by
// about startErr·m/n, its slope by slopeErr/n of that. Found by trial on half-
// normal and exponential delays. stampErr is what a time stamp is good for, ns.
const (
	startErr   = 6
	slopeErr   = 1.9
	stampErr   = 10e3
	lateShare  = 0.35
	confidence = 4 // errors that two windows may disagree by, each
)

// along fits ticks along a curve: bend is by how much the period falls a tick.
func (l *lock) along(bend float64) (c curve) {
	newest := *l.back(0)
	var sumX, sumY float64
	starts := interval{-everything, everything}
	slopes := starts
	check, top := fewTicks, 0
	for i := range l.count {
		x, y := l.see(i, newest, bend)
		sumX += x
		sumY += y
		top = l.grow(top, i)
		if i+1 != check && i+1 != l.count {
			continue
		}
		check *= 2
		n := float64(i + 1)
		slope, start := l.edge(top, sumX/n)
		late := max(0, (sumY-float64(slope*sumX)-float64(n*start))/(n-2))
		next := curve{points: i + 1, late: late}
		next.err = startErr*max(min(late, 2*l.noise), l.noise)/n + stampErr
		l.middle(&next, top, line2{slope, start}, sumX/n, sumY/n)
		if !starts.meet(next.start, next.err) || !slopes.meet(next.slope, slopeErr*next.err/n) {
			break
		}
		c = next
	}
	return c
}

// average weighs the curves that reach furthest back. The first is straight.
func average(curves []curve) curve {
	longest, best := 0, -everything
	for i := range curves {
		longest = max(longest, curves[i].points)
	}
	if longest < bentTicks {
		return curves[0]
	}
	for i := range curves {
		if curves[i].points == longest {
			best = max(best, curves[i].fit)
		}
	}
	f, sum := curve{points: longest}, 0.0
	for i := range curves {
		c := &curves[i]
		if c.points != longest {
			continue
		}
		w := c.weight * decay(best-c.fit)
		if i > 0 {
			w *= bentOdds
		}
		sum += w
		f.slope += float64(w * c.slope)
		f.start += float64(w * c.start)
		f.late += float64(w * c.late)
		f.err += float64(w * c.err)
	}
	f.slope /= sum
	f.start /= sum
	f.late /= sum
	f.err /= sum
	return f
}

// interval is where a value lies by all the windows so far.
type interval struct{ lo, hi float64 }

const everything = 1e18

// meet narrows v to what agrees with x ± err, and returns false if nothing does.
func (v *interval) meet(x, err float64) bool {
	reach := float64(confidence * err)
	v.lo, v.hi = max(v.lo, x-reach), min(v.hi, x+reach)
	return v.lo <= v.hi
}

// fitFew fits when the ticks are too few to trust: the tempo before stands
// unless they clearly speak against it.
func (l *lock) fitFew() {
	top, newest := 0, *l.back(0)
	for i := range l.count {
		l.see(i, newest, 0)
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
