package clock

import "math"

// begin processes the first tick after a restart; its number is n. The hypotheses are
// the period before, ns, and periods over the whole range.
func (b *bank) begin(n int64, before float64) {
	b.count, b.live, b.driftShare, b.best, b.proven = 1, 0, 0, 0, 0
	f := &b.noise
	add := func(period, sd, weight float64) {
		b.hyps[b.live] = hypothesis{n: n, off: -f.mean, period: period, vOff: sq(f.sd) + 1e8, vPeriod: sq(sd), weight: weight}
		b.live++
	}
	add(before, 0.01*before, 0.3)
	add(before, 0.1*before, 0.3)
	for p := minPeriod * 1.2; p < 1.2*maxPeriod; p *= 1.4 {
		add(p, 0.2*p, 0.05)
	}
	b.prune()
}

// learnFirstBeat learns the noise from a straight line through the first beat.
func (b *bank) learnFirstBeat(l *lock) {
	off, period := l.straightLine(l.count)
	var late [lockTicks]float64
	least := everything
	n := min(l.count, lockTicks)
	for i := range n {
		p := l.tickBack(i)
		late[i] = float64(p.at-l.tickBack(0).at) - off + float64(period*float64(i))
		least = min(least, late[i])
	}
	var wide float64
	for i, r := range late[:n] {
		late[i] = r - least
		if late[i] < 2*period { // else it was delayed
			wide = max(wide, late[i])
		}
	}
	b.noise.begin()
	b.noise.rebin(b.noise.binFor(wide), 0)
	b.noise.scaleTo(&b.noise.slow, 0.05)
	b.noise.scaleTo(&b.noise.fast, 0.05)
	b.noise.seen = 0.05
	for _, r := range late[:n] {
		if r <= wide {
			b.noise.learn(r, 0, true)
		}
	}
}

// replayAll processes all ticks since the restart again, with the noise learned since
// then: the first ticks were processed with a guess of the noise.
func (b *bank) replayAll(l *lock) {
	before := *b
	n := l.count
	b.begin(l.tickBack(n-1).n, l.line.period)
	b.noLearning = true
	for i := n - 2; i >= 0; i-- {
		b.tick(float64(l.tickBack(i).at-l.tickBack(i+1).at), closeBank, nil)
		if i == l.sinceSettled {
			b.number(l.tickBack(i).n)
		}
	}
	b.noLearning = false
	ratio := b.hyps[b.proven].period / before.hyps[before.proven].period
	if alike := ratio > 0.97 && ratio < 1.03; n > lockTicks && !alike && b.meanMiss > 0.8*before.meanMiss {
		*b = before // the result is no better
	}
}

// replay processes the last ticks of a lock again, with the noise of its lattice.
func (b *bank) replay(l *lock) {
	b.noise.setLattice(l.lattice.every, l.lattice.jitter)
	b.latticeShare, b.newShare = 1, 0
	from := min(l.count, ringTicks*3/4)
	b.begin(l.tickBack(from-1).n, l.line.period)
	for i := from - 2; i >= 0; i-- {
		b.tick(float64(l.tickBack(i).at-l.tickBack(i+1).at), stepBank, nil)
		if i == l.sinceSettled {
			b.number(l.tickBack(i).n)
		}
	}
}

// noneFits tells whether ticks have been far off the best hypothesis for a whole beat: by
// more than a tick, and by much more than the noise. Then no hypothesis recovers.
func (b *bank) noneFits(l *lock) bool {
	h := &b.hyps[b.best]
	if h.fromQueue {
		return false
	}
	if off := h.off; max(off, -off) < float64(1.2*h.period)+float64(3*math.Sqrt(l.trend.power)) {
		b.farTicks = 0
		return false
	}
	b.farTicks++
	return b.farTicks >= lockTicks && l.count > lockTicks
}

// restartOnLine replaces all hypotheses by a straight line through the last beat.
func (b *bank) restartOnLine(l *lock) {
	n := b.hyps[b.best].n
	off, period := l.straightLine(lockTicks)
	b.farTicks, b.live, b.best, b.proven = 0, 1, 0, 0
	b.hyps[0] = hypothesis{
		n: n, off: off, period: period,
		vOff: sq(period / 2), vPeriod: sq(0.02 * period), weight: 1,
	}
}
