package clock

// recount adds hypotheses in which ticks were lost before this one, or in which this one
// is a double. Without a silence it does so only if the noise is small enough to tell ticks
// apart. bar is the last bar's line, for a tick after a silence, or nil.
func (b *bank) recount(before *hypothesis, gap float64, bar *hypothesis) {
	best := &b.hyps[b.best]
	late, period := -best.off, best.period
	if silent(gap, period) {
		b.recountAfterSilence(gap, bar)
		return
	}
	if b.count < fewTicks || !best.countsTicks() || b.noise.seen < lockTicks ||
		b.noiseHidesTicks(period) || b.maybeInBuffers(period) {
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
		h.double = true
		h.age = provenAge
	}
}

// recountAfterSilence adds hypotheses for the ticks lost while the clock was silent for gap
// ns. A few late ticks before the silence can look like a falling tempo. So if the straight
// line through the last bar gives another number of lost ticks than the best hypothesis
// does, both are followed, and the ticks to come decide.
func (b *bank) recountAfterSilence(gap float64, bar *hypothesis) {
	if b.count < 2*fewTicks {
		return
	}
	best := b.hyps[b.best]
	b.spawnLostInSilence(&best)
	if bar == nil {
		return
	}
	line := *bar
	line.off -= b.noise.mean
	line.step(gap)
	ticks := -line.off / line.period
	apart := (best.off - line.off + float64(ticks*(best.period-line.period)) + float64(ticks*ticks/2*best.bend)) / best.period
	if b.noiseHidesTicks(line.period) || max(apart, -apart) > 0.5 {
		line.weight = best.weight
		b.spawnLostInSilence(&line)
	}
}

// spawnLostInSilence adds a hypothesis in which the tick after a silence has the number that
// the parent's line gives. If the noise is wide, the tick may be more than half a tick late:
// then hypotheses with one number less and one more are added too.
func (b *bank) spawnLostInSilence(parent *hypothesis) {
	late := -parent.off - b.noise.mean
	if !parent.countsTicks() || late < max(4*b.noise.spread, lostShare*parent.period) {
		return // the noise alone explains it
	}
	missed, around := roundToInt(late/parent.period), int64(0)
	if b.noiseHidesTicks(parent.period) {
		around = 1
	}
	for n := max(missed-around, 1); n <= missed+around; n++ {
		b.spawnLost(parent, n, 0.5)
	}
}

// countsTicks tells whether the hypothesis knows its time and period well enough to say
// how many ticks are missing.
func (h *hypothesis) countsTicks() bool {
	return h.vPeriod <= sq(0.03*h.period) && h.vOff <= sq(0.25*h.period)
}

// spawnLost adds a hypothesis in which a number of ticks were lost before the last one.
func (b *bank) spawnLost(parent *hypothesis, ticks int64, odds float64) {
	h := b.spawn(parent, odds, parent.kind)
	for range ticks {
		h.step(0)
	}
	h.age = provenAge // the tempo is as before, so it may be shown at once
}

// silent tells whether a gap between two ticks, ns, counts as a silence of the clock.
func silent(gap, period float64) bool {
	return gap > float64(holdAfter*period)+float64(holdExtra)
}

// holdPeriod gives the period measured over the last bar, ns, and its variance, ns², to
// all hypotheses of nearly that period that have a larger variance.
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

// noiseHidesTicks tells whether the noise is too wide, for ticks of a period, to tell ticks apart.
func (b *bank) noiseHidesTicks(period float64) bool { return 2*b.noise.spread > b.widestNoise()*period }

// widestNoise returns the largest width of the noise at which ticks can still be told apart, as
// a part of a tick. With a lattice it is larger: that noise has sharp ends.
func (b *bank) widestNoise() float64 {
	if b.noise.top > 0 {
		return sharpQuietShare
	}
	return quietShare
}

// maybeInBuffers tells whether a tick may be just as long as an audio buffer of the sender. Then
// a buffer now and then has two ticks or none, and none of them was lost or doubled.
func (b *bank) maybeInBuffers(period float64) bool {
	return b.noise.spread < 0.25*period && isComputerInterval(period, 0.006)
}

// spawn adds a copy of a hypothesis with another tempo model. Its weight is the parent's
// times odds.
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

// expectChange adds a hypothesis in which a planned change of tempo happens before the next
// tick: see lock.expectChange.
func (b *bank) expectChange(ratio, share float64, sure bool) {
	odds := oddsPlanned
	if sure {
		odds = 2 * provenOdds
	}
	p := b.hyps[b.proven]
	h := b.spawn(&p, odds, p.kind)
	// The next tick has the new period, but for its first part, which has the old one.
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

// spawnChanges adds hypotheses in which the tempo, or the delay of all ticks, changed just
// now. Steps of the tempo are added at most ticks, each other change once or twice in
// eight ticks.
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

// spawnSteps adds hypotheses in which the tempo stepped. In a lattice, a small step shows
// only after some ticks: there it is tried less often, so that each attempt lives longer.
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
