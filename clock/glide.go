package clock

// A glide is the musical position against time as At shows it: continuous, and never
// falling.
//
// It is a chain of legs. Each leg starts at the position that the one before it has
// reached, moves faster or slower than the tempo until it meets its target line, and then
// follows that line. Positions are in Beats (float64 holds a Beat exactly for 30
// years), rates in Beats a nanosecond.
type glide struct {
	legs [maxLegs]leg
	last int // index of the newest leg
	n    int // how many legs are valid
}

// maxLegs covers maxAhead at the fastest clock: one leg every 5 ms.
const maxLegs = 64

type leg struct {
	start Time
	from  float64 // position at start
	slew  float64 // rate until knee
	knee  Time    // how long after start the leg meets its target line
	rate  float64 // rate from the knee on
}

// The speed of a correction, as a part of the tempo. Up to half a tick, as jitter and
// drift cause, is corrected gently. More, as a wrong count or a first guess causes, is
// corrected faster: even half a beat is made up within a beat.
const (
	gentleSlew = 0.1
	hardSlew   = 0.5
	minKnee    = 25 * Millisecond // shortest correction
)

func (l *leg) at(t Time) float64 {
	dt := t - l.start
	if dt < l.knee {
		return l.from + float64(l.slew*float64(dt))
	}
	return l.from + float64(l.slew*float64(l.knee)) + float64(l.rate*float64(dt-l.knee))
}

// legBack returns the leg i places before the newest.
func (g *glide) legBack(i int) *leg { return &g.legs[(g.last-i+maxLegs)%maxLegs] }

// at returns the position at t.
func (g *glide) at(t Time) float64 {
	for i := range g.n {
		if l := g.legBack(i); t >= l.start {
			return l.at(t)
		}
	}
	return g.legBack(g.n - 1).at(t)
}

// jump forgets all legs: the position is from at start and rises at rate.
func (g *glide) jump(start Time, from, rate float64) {
	g.last, g.n = 0, 1
	g.legs[0] = leg{start: start, from: from, slew: rate, rate: rate}
}

// steer adds a leg, from start on, to a target line that is at to at start and rises at
// rate.
func (g *glide) steer(start Time, to, rate float64) {
	l := g.branch(start, rate)
	miss := to - float64(rate*float64(start-l.start)) - l.from
	size, slew := max(miss, -miss), gentleSlew
	if size > float64(Tick)/2 {
		slew = hardSlew
	}
	l.knee = max(minKnee, Time(size/(slew*rate)))
	l.slew = rate + miss/float64(l.knee)
}

// ease is steer with gentleSlew, however far the target is.
func (g *glide) ease(start Time, to, rate float64) {
	l := g.branch(start, rate)
	miss := to - float64(rate*float64(start-l.start)) - l.from
	l.knee = max(minKnee, Time(max(miss, -miss)/(gentleSlew*rate)))
	l.slew = rate + miss/float64(l.knee)
}

// turn continues the present line until it reaches position b, and rises at rate after.
func (g *glide) turn(start Time, b, rate float64) {
	until, ok := g.when(b)
	l := g.branch(start, rate)
	if !ok || until <= l.start {
		return
	}
	l.knee = until - l.start
	l.slew = (b - l.from) / float64(l.knee)
}

// wait is steer for a position that is ahead of its target: it stands still until the
// target catches up. A target that is ahead is jumped to.
func (g *glide) wait(start Time, to, rate float64) {
	l := g.branch(start, rate)
	to -= float64(rate * float64(start-l.start))
	if to >= l.from {
		l.from = to
		return
	}
	l.knee = Time((l.from - to) / rate)
	l.slew = 0
}

// branch adds a leg that begins at start from the present position. If there are so many
// events that this would remove a leg still in use, it changes the newest leg instead.
func (g *glide) branch(start Time, rate float64) *leg {
	old := g.legBack(0)
	full := g.n == maxLegs && g.legBack(maxLegs-2).start > start-maxAhead
	if start <= old.start || full {
		start = old.start
	} else {
		g.last = (g.last + 1) % maxLegs
		g.n = min(g.n+1, maxLegs)
	}
	from := old.at(start)
	l := g.legBack(0)
	*l = leg{start: start, from: from, slew: rate, rate: rate}
	return l
}

// when returns the first moment at which the position is at least b, and false
// if that lies outside the range of Time that the clock works in.
func (g *glide) when(b float64) (Time, bool) {
	l := g.legBack(0)
	for i := 1; i < g.n && b < l.from; i++ {
		l = g.legBack(i)
	}
	dt := float64(l.knee) + (b-l.from-float64(l.slew*float64(l.knee)))/l.rate
	if dt < float64(l.knee) && l.slew > 0 {
		dt = (b - l.from) / l.slew
	}
	if limit := float64(maxTime) / 2; dt > limit || dt < -limit {
		return 0, false
	}
	t := l.start + Time(dt)
	for range 4 { // the division is good to a nanosecond or two
		if g.at(t) < b {
			t++
		} else if g.at(t-1) >= b {
			t--
		}
	}
	return t, true
}
