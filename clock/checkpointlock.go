package clock

// Ranges of numbers of the tempo lock that a checkpoint may hold. They are far wider than
// those that occur, and keep loops over lost ticks short.
const (
	maxCount    = 1 << 40         // ticks
	maxOff      = 1e16            // ns
	leastStored = minPeriod / 100 // of the length of a tick, ns
	mostStored  = maxPeriod * 100
)

func codeCount[T integer](c *Coder, v *T) { CodeIndex(c, v, 0, maxCount, "a count of ticks") }

func codePeriod(c *Coder, v *float64) {
	c.FloatBetween(v, leastStored, mostStored, "the length of a tick in ns")
}

func codeShare(c *Coder, v *float64) { c.FloatBetween(v, 0, 1e6, "a share or weight") }

// code codes all fields but bell, which is the same in every lock.
func (l *lock) code(c *Coder) {
	CodeInts(c, &l.n, &l.pendingRecount)
	codeTime(c, &l.last)
	CodeInts(c, &l.putIn, &l.takenOut)
	CodeInts(c, &l.sinceRecount, &l.sinceSettled)
	codeShare(c, &l.queued)
	l.line.code(c)
	codeCount(c, &l.count)
	c.Bools(&l.locked, &l.afterSilence)
	CodeIndex(c, &l.shown, 0, plainLoop, "the estimate that is shown")
	for i := range l.banks {
		l.banks[i].code(c)
	}
	for i := range l.ring {
		CodeInts(c, &l.ring[i].n)
		codeTime(c, &l.ring[i].at)
	}
	l.trend.code(c)
	codeShare(c, &l.delayShare)
	c.Bools(&l.delayed)
	CodeInts(c, &l.trendSpoiled)
	a := &l.apart
	c.Floats(&a.seen, &a.mean, &a.meanDistance, &a.err)
	l.doubt.code(c)
	g := &l.lattice
	c.FloatBetween(&g.every, 0, 2*mostLattice, "the step of a lattice in ns")
	c.Floats(&g.jitter, &g.onShare)
	CodeInts(c, &g.waitTicks)
	l.loop.code(c)
	l.strip.code(c)
	c.Floats(&l.halfStep)
	CodeInts(c, &l.sinceLattice)
}

func (l *line) code(c *Coder) {
	CodeInts(c, &l.n)
	codeTime(c, &l.at)
	c.FloatBetween(&l.period, 0, mostStored, "the length of a tick in ns")
	c.Floats(&l.err, &l.drift, &l.bend, &l.steadyPeriod)
}

// code codes the live hypotheses and all other fields but bell.
func (b *bank) code(c *Coder) {
	CodeIndex(c, &b.live, 0, maxHyps, "the number of hypotheses")
	last := max(b.live, 1) - 1
	if b.live == 0 {
		last = maxHyps - 1 // not used before the next tick sets them
	}
	CodeIndex(c, &b.best, 0, last, "the best hypothesis")
	CodeIndex(c, &b.proven, 0, last, "the proven hypothesis")
	codeCount(c, &b.count)
	if c.Err() != nil {
		return
	}
	for i := range b.live {
		b.hyps[i].code(c)
	}
	b.noise.code(c)
	b.line.code(c)
	c.Times(b.times[:])
	b.score.code(c)
	CodeInts(c, &b.spawnPause, &b.farTicks)
	c.Bools(&b.wasLate, &b.queue, &b.noLearning, &b.noiseTooWide)
	c.Floats(&b.meanMiss, &b.newShare, &b.driftShare, &b.latticeShare)
}

func (h *hypothesis) code(c *Coder) {
	CodeInts(c, &h.n)
	c.FloatBetween(&h.off, -maxOff, maxOff, "the time of a tick in ns")
	codePeriod(c, &h.period)
	c.Floats(&h.bend, &h.cOffPeriod, &h.cOffBend, &h.cPeriodBend)
	c.FloatBetween(&h.vOff, 0, maxNumber, "the variance of a tick's time in ns²")
	c.Floats(&h.vPeriod, &h.vBend)
	codeShare(c, &h.weight)
	CodeIndex(c, &h.kind, 0, int(numTempoModels)-1, "the tempo model of a hypothesis")
	c.Bools(&h.fromQueue, &h.double)
	CodeInts(c, &h.age)
}

// code codes all fields but edges, which follow from bin, and pools, which are scratch.
func (f *noise) code(c *Coder) {
	c.FloatBetween(&f.bin, 1, 1e15, "the width of a bin in ns")
	if c.Reading() {
		if c.Err() != nil {
			return
		}
		f.setBins(f.bin)
	}
	for _, list := range [...]*[noiseBins]float64{&f.dens, &f.slow, &f.fast, &f.broad} {
		c.FloatList(list[:])
	}
	c.FloatList(f.cum[:])
	c.Floats(&f.seen, &f.edge, &f.edgeLooks, &f.spreadBefore)
	c.Floats(&f.newerBetter, &f.share, &f.slowSum, &f.fastSum)
	c.Floats(&f.plain, &f.top, &f.edgeNow, &f.mean, &f.spread, &f.sd)
}

func (s *score) code(c *Coder) {
	CodeInts(c, &s.seen)
	c.Floats(&s.mean, &s.meanDistance)
}

func (t *trend) code(c *Coder) {
	c.FloatList(t.late[:])
	c.Floats(&t.edge, &t.power, &t.next, &t.seen)
	CodeInts(c, &t.middle)
	c.Bools(&t.full)
}

func (d *doubt) code(c *Coder) {
	c.Floats(&d.factor)
	d.score.code(c)
	c.Times(d.at[:])
	c.FloatList(d.err[:])
}

func (d *loop) code(c *Coder) {
	c.Floats(&d.next, &d.period)
	codeCount(c, &d.seen)
	d.line.code(c)
	c.Times(d.times[:])
	d.score.code(c)
}

func (s *strip) code(c *Coder) {
	for i := range s.at {
		c.Floats(&s.at[i].off, &s.at[i].period)
	}
	CodeIndex(c, &s.n, 0, stripCorners, "the corners of a strip")
	CodeInts(c, &s.ticks)
	c.Floats(&s.slack)
}
