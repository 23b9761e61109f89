package clock

// recount spawns hypotheses in which ticks were lost before this one, or this one is
// a double. It does so only where the noise is small enough to tell ticks apart.
func (b *bank) recount(before *hypothesis, gap float64) {
	best := &b.hyps[b.best]
	late, period := -best.off, best.period
	if silent(gap, period) {
		b.recountAfterSilence(gap)
		return
	}
	if b.count < fewTicks || !best.judges() || b.noise.seen < lockTicks ||
		b.wideFor(period) || b.stepped(period) {
		return
	}
	if late > lostShare*period {
		b.spawnLost(best, roundToInt(late/period), oddsLost)
	} else if late < -extraShare*period {
		odds := oddsExtra / period
		if gap < 0.1*period {
			odds *= 10
		}
		h := b.spawn(before, odds, before.kind)
		h.off -= gap
		h.spare = true
		h.age = provenAge
	}
}

// recountAfterSilence spawns hypotheses in which the clock was gone for gap ns. A few late
// ticks before can look like a tempo that falls: where the last bar's straight line would have
// another tick, it is followed besides the best hypothesis, and the ticks to come decide.
func (b *bank) recountAfterSilence(gap float64) {
	if b.count < 2*fewTicks {
		return
	}
	best, bar := b.hyps[b.best], b.lastBar
	b.spawnLostInSilence(&best)
	bar.off -= b.noise.mean
	bar.step(gap)
	ticks := -bar.off / bar.period
	apart := (best.off - bar.off + ticks*(best.period-bar.period) + ticks*ticks/2*best.bend) / best.period
	if bar.weight > 0 && (b.wideFor(bar.period) || max(apart, -apart) > 0.5) {
		bar.weight = best.weight
		b.spawnLostInSilence(&bar)
	}
}

// spawnLostInSilence adds hypotheses in which the tick after a silence has the number that
// the parent's line suggests. Through wide noise it may be late by more than half a tick:
// the numbers beside it are added too.
func (b *bank) spawnLostInSilence(parent *hypothesis) {
	late := -parent.off - b.noise.mean
	if !parent.judges() || late < max(4*b.noise.spread, lostShare*parent.period) {
		return // noise as wide explains it
	}
	missed, around := roundToInt(late/parent.period), int64(0)
	if b.wideFor(parent.period) {
		around = 1
	}
	for n := max(missed-around, 1); n <= missed+around; n++ {
		b.spawnLost(parent, n, 0.5)
	}
}

// judges tells whether the line is known well enough to count ticks by.
func (h *hypothesis) judges() bool {
	return h.vPeriod <= sq(0.03*h.period) && h.vOff <= sq(0.25*h.period)
}

// spawnLost adds a hypothesis in which so many ticks were lost before the last.
func (b *bank) spawnLost(parent *hypothesis, ticks int64, odds float64) {
	h := b.spawn(parent, odds, parent.kind)
	for range ticks {
		h.step(0)
	}
	h.age = provenAge // the tempo is as before: it may be shown at once
}

// silent tells whether a gap is so long that the clock was gone.
func silent(gap, period float64) bool {
	return gap > float64(holdAfter*period)+float64(holdExtra)
}

// holdPeriod sets the period of the last bar, ns, with its variance, in all hypotheses
// that know theirs less well.
func (b *bank) holdPeriod(period, variance float64) {
	for i := range b.live {
		h := &b.hyps[i]
		if h.vPeriod < variance || h.period > 1.1*period || h.period < 0.9*period {
			continue
		}
		h.kind, h.period, h.vPeriod, h.cOffPeriod = steadyTempo, period, variance, 0
		h.bend, h.vBend, h.cOffBend, h.cPeriodBend = 0, 0, 0, 0
	}
}

// wideFor tells whether the noise is so wide that ticks cannot be told apart.
func (b *bank) wideFor(period float64) bool { return 2*b.noise.spread > b.quiet()*period }

// quiet returns up to what width of the noise, as a part of a tick, ticks can be told
// apart. That of a lattice has sharp ends.
func (b *bank) quiet() float64 {
	if b.noise.top > 0 {
		return sharpQuietShare
	}
	return quietShare
}

// stepped tells whether ticks may come once in an audio buffer of their own length,
// so that now and then there are two or none in one.
func (b *bank) stepped(period float64) bool {
	return b.noise.spread < 0.25*period && known(period, 0.006)
}

// spawn adds a copy of a hypothesis with another tempo model, less likely by the odds.
func (b *bank) spawn(parent *hypothesis, odds float64, kind tempoModel) *hypothesis {
	p := *parent
	b.makeRoom()
	h := &b.hyps[b.live]
	*h = p
	h.weight *= odds
	h.kind, h.age = kind, 0
	if kind == steadyTempo || kind == wanderingTempo {
		h.bend, h.vBend, h.cOffBend, h.cPeriodBend = 0, 0, 0, 0
	}
	b.live++
	return h
}

// expect adds a hypothesis in which a planned change falls into the next period.
func (b *bank) expect(ratio, share float64, sure bool) {
	odds := oddsPlanned
	if sure {
		odds = 2 * provenOdds
	}
	p := b.hyps[b.proven]
	h := b.spawn(&p, odds, p.kind)
	// The period to come is the new one, but for its first part.
	h.off += float64(share * (1 - ratio) * h.period)
	h.period *= ratio
	h.cOffPeriod *= ratio
	h.vPeriod = float64(h.vPeriod*ratio*ratio) + sq(5e-4*h.period)
	h.bend, h.vBend, h.cOffBend, h.cPeriodBend = 0, 0, 0, 0
	if h.kind != wanderingTempo {
		h.kind = steadyTempo
	}
	if sure {
		h.age = 2 * lockTicks
	}
}

// spawnChanges adds hypotheses in which something changed just now.
func (b *bank) spawnChanges(which int) {
	if b.spawnPause > 0 {
		b.spawnPause-- // ticks after a stall are not evidence of another tempo
		return
	}
	if b.count < 3 {
		return
	}
	p := b.hyps[b.best]
	b.spawnSteps(p, which)
	drift := float64(0.3 * b.driftShare)
	switch b.count % 8 {
	case 0:
		if p.kind != fastestDrift {
			h := b.spawn(&p, oddsSweep*8, fastestDrift)
			h.vBend += sq(2e-3 * p.period)
		}
	case 1:
		if p.kind != driftingTempo {
			h := b.spawn(&p, oddsBend*8+drift, driftingTempo)
			h.vBend += sq(1e-4 * p.period)
		}
	case 2:
		if p.kind != fastDrift {
			h := b.spawn(&p, oddsSweep*8+drift, fastDrift)
			h.vBend += sq(6e-4 * p.period)
		}
	case 3, 7:
		odds := oddsSlip * 4
		if which == wideBank {
			odds /= 100
		}
		h := b.spawn(&p, odds, p.kind)
		h.vOff += sq(30e6)
	case 5:
		if p.kind != steadyTempo {
			odds := oddsSettle * 8 * (1 - b.driftShare)
			if p.kind == wanderingTempo {
				odds = 0.5
			}
			h := b.spawn(&p, odds, steadyTempo)
			h.vPeriod += sq(2e-4 * p.period)
		}
	case 6:
		if p.kind != wanderingTempo {
			h := b.spawn(&p, oddsLoose*8, wanderingTempo)
			h.vPeriod += sq(0.01 * p.period)
		}
	}
}

// spawnSteps adds hypotheses in which the tempo stepped. Through a lattice a step shows
// late: those of a small one are added less often there, and so live longer.
func (b *bank) spawnSteps(p hypothesis, which int) {
	if b.noise.spread > 0.05*p.period && b.count%3 != 0 {
		return
	}
	if which != stepBank || b.count%6 == 0 {
		h := b.spawn(&p, oddsStep, steadyTempo)
		h.vPeriod += sq(0.03 * p.period)
	}
	h := b.spawn(&p, oddsLeap, steadyTempo)
	h.vPeriod += sq(0.3 * p.period)
}
