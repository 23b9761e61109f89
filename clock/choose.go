package clock

import "math"

// choose sets l.shown: stepBank while ticks arrive in steps; else closeBank, unless the
// errors measured in hindsight are clearly smaller for wideBank or for the loop. Changing
// back needs a smaller difference than changing over, so that it does not alternate.
func (l *lock) choose(at Time) {
	l.lookBack(at)
	l.followLattice(at)
	l.followLoop(at)
	if l.banks[stepBank].live > 0 {
		l.shown = stepBank
		return
	}
	a := &l.banks[closeBank]
	other, line, best := wideBank, &l.banks[wideBank].line, l.banks[wideBank].score.meanDistance
	if l.loop.score.seen >= scoreFew && l.loop.score.meanDistance < 0.9*best {
		other, line, best = plainLoop, &l.loop.line, l.loop.score.meanDistance
	}
	if l.count >= lockTicks {
		l.apart.add(float64(a.line.at-line.at), math.Sqrt(l.trend.power))
	}
	switch {
	case a.score.seen < scoreFew || l.trendSpoiled > 0:
		l.shown = closeBank
	case best < 0.7*a.score.meanDistance-leastErr && l.apart.meanDistance > l.apart.err+leastErr,
		best < 0.55*a.score.meanDistance-leastErr && a.noise.spread > boundedSpread*l.apart.err:
		l.shown = other
	case l.shown == stepBank || best > 0.9*a.score.meanDistance || l.apart.meanDistance < 0.5*l.apart.err && best > 0.7*a.score.meanDistance:
		l.shown = closeBank
	case l.shown != closeBank:
		l.shown = other
	}
}

// lookBack measures the noise, and the errors of each bank and of the loop, by comparing
// them with a smooth curve through the last bar (trend). It does not measure while a tick
// of that bar was delayed by more than a tick.
func (l *lock) lookBack(at Time) {
	odd := 0.0
	h := &l.banks[closeBank].hyps[l.banks[closeBank].best]
	late := -h.off > 1.5*h.period
	if late && !l.delayed {
		odd = 1
	}
	l.delayed = late
	if (h.fromQueue || h.double || late) && l.delayShare < unrulyShare {
		l.trendSpoiled = trendTicks
	}
	l.delayShare += (odd - l.delayShare) / burstMemory
	if l.trendSpoiled > 0 {
		l.trendSpoiled--
		return
	}
	if !l.trend.tick(l, at) {
		return
	}
	w := &l.banks[wideBank].noise
	w.setNormal(l.trend.spread())
	w.edge = l.trend.edge
	l.banks[closeBank].learnFromTrend(&l.trend)
	if !l.trend.full {
		return
	}
	middle := l.count + 1 - trendTicks/2
	for i := range l.banks {
		if b := &l.banks[i]; b.live > 0 {
			b.score.add(float64(*b.timeOf(middle) - l.trend.middle))
		}
	}
	l.doubt.check(middle%trendTicks, l.trend.middle)
	if l.loop.seen >= trendTicks {
		l.loop.score.add(float64(l.loop.times[middle%trendTicks] - l.trend.middle))
	}
}

// followLattice looks for a lattice. While there is one, stepBank and the strip follow the
// ticks; otherwise halfStep shrinks.
func (l *lock) followLattice(at Time) {
	if l.sinceLattice++; l.lattice.every > 0 {
		l.sinceLattice = 0
	} else if l.halfStep > 0 {
		fade := halfFade
		if l.sinceLattice > bareTicks {
			fade = max(fade, l.halfStep/bareFade)
		}
		l.halfStep = max(0, l.halfStep-fade)
	}
	s := &l.banks[stepBank]
	switch l.lattice.tick(l, at) {
	case latticeFound:
		l.halfStep = l.lattice.every / 2
		s.replay(l)
		s.conclude(at)
	case latticeLost:
		s.live = 0
	}
	if s.live == 0 {
		l.strip.n = 0
		return
	}
	l.tickBack(0).n = s.line.n
	l.strip.follow(l)
	s.useStrip(&l.strip, at)
}

// followLoop gives the tick to the delay-locked loop. The loop starts again whenever the
// count of ticks was corrected.
func (l *lock) followLoop(at Time) {
	d := &l.loop
	if l.count < lockTicks {
		return
	}
	if n := l.banks[l.shown%numBanks].line.n; l.count == lockTicks || n != d.line.n+1 {
		d.begin(l.straightLine(lockTicks))
		d.line.n = n
		return
	}
	off := d.tick(float64(at - l.tickBack(1).at))
	d.times[l.count%trendTicks] = at + Time(off)
	d.line = l.banks[wideBank].line
	d.line.at, d.line.period, d.line.bend = at+Time(off+l.banks[wideBank].noise.edge), d.period, 0
}
