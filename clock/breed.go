package clock

// recount lets readings leave the likeliest in which ticks were lost before this
// one, or this one came twice. Only where ticks can be told apart one by one.
func (b *bank) recount(before *hypothesis, gap float64) {
	best := &b.hyps[b.best]
	late, period := -best.off, best.period
	gone := silent(gap, period)
	if gone {
		late -= b.noise.mean
	}
	if b.count < fewTicks || gone && b.count < 2*fewTicks || best.vPeriod > sq(0.03*period) || best.vOff > sq(0.25*period) {
		return // no line to judge by
	}
	if gone && late < 4*b.noise.spread {
		return // noise as wide explains it
	}
	if !gone && (b.noise.seen < lockTicks || 2*b.noise.spread > b.quiet()*period || b.stepped(period)) {
		return
	}
	if late > lostShare*period {
		missed := roundToInt(late / period)
		if !gone {
			b.skip(best, missed, oddsLost)
			return
		}
		// The first tick may be late by more than half a tick itself: those to come tell.
		from := *best
		for n := max(missed-1, 1); n <= missed+1; n++ {
			b.skip(&from, n, 0.5)
		}
	} else if late < -extraShare*period {
		odds := oddsExtra / period
		if gap < 0.1*period {
			odds *= 10
		}
		h := b.child(before, odds, before.kind)
		h.off -= gap
		h.spare = true
		h.age = provenAge
	}
}

// skip lets a reading leave another in which ticks were lost before the last.
func (b *bank) skip(parent *hypothesis, ticks int64, odds float64) {
	h := b.child(parent, odds, parent.kind)
	for range ticks {
		h.step(0)
	}
	h.age = provenAge // it goes on as before: there is nothing to wait for
}

// silent tells whether a gap is so long that the clock was gone.
func silent(gap, period float64) bool {
	return gap > float64(holdAfter*period)+float64(holdExtra)
}

// cruise has all readings carry on at the tempo of the last bar, which is known to a
// variance, where it is known better than theirs.
func (b *bank) cruise(period, variance float64) {
	for i := range b.live {
		h := &b.hyps[i]
		if h.vPeriod < variance || h.period > 1.1*period || h.period < 0.9*period {
			continue
		}
		h.kind, h.period, h.vPeriod, h.cOffPeriod = steadyGait, period, variance, 0
		h.bend, h.vBend, h.cOffBend, h.cPeriodBend = 0, 0, 0, 0
	}
}

// quiet returns how wide noise may be, as a part of a tick, for ticks to be told
// apart. That of a lattice has sharp ends.
func (b *bank) quiet() float64 {
	if b.noise.top > 0 {
		return latticeShare
	}
	return quietShare
}

// stepped tells whether ticks may come once in an audio buffer of their own length,
// so that now and then there are two or none in one.
func (b *bank) stepped(period float64) bool {
	return b.noise.spread < 0.25*period && known(period, 0.006)
}

// child lets a reading leave another, less likely by the odds.
func (b *bank) child(parent *hypothesis, odds float64, kind gait) *hypothesis {
	p := *parent
	b.room()
	h := &b.hyps[b.live]
	*h = p
	h.weight *= odds
	h.kind, h.age = kind, 0
	if kind == steadyGait || kind == looseGait {
		h.bend, h.vBend, h.cOffBend, h.cPeriodBend = 0, 0, 0, 0
	}
	b.live++
	return h
}

// expect lets a reading leave the one that is shown in which the tick to come ends
// a period that a planned change falls in.
func (b *bank) expect(ratio, share float64, sure bool) {
	odds := oddsPlanned
	if sure {
		odds = 2 * provenOdds
	}
	p := b.hyps[b.proven]
	h := b.child(&p, odds, p.kind)
	// The period to come is the new one, but for its first part.
	h.off += float64(share * (1 - ratio) * h.period)
	h.period *= ratio
	h.cOffPeriod *= ratio
	h.vPeriod = float64(h.vPeriod*ratio*ratio) + sq(5e-4*h.period)
	h.bend, h.vBend, h.cOffBend, h.cPeriodBend = 0, 0, 0, 0
	if h.kind != looseGait {
		h.kind = steadyGait
	}
	if sure {
		h.age = 2 * lockTicks
	}
}

// breed lets new readings leave the likeliest: that something changed just now.
func (b *bank) breed(which int) {
	if b.shaken > 0 {
		b.shaken-- // what comes out of a stall tells of no other tempo
		return
	}
	if b.count < 3 {
		return
	}
	p := b.hyps[b.best]
	every := 1
	if b.noise.spread > 0.05*p.period {
		every = 3
	}
	phase := b.count % every
	if phase == 0 {
		if which != stepBank || b.count%6 == 0 {
			h := b.child(&p, oddsStep, steadyGait)
			h.vPeriod += sq(0.03 * p.period)
		}
		h := b.child(&p, oddsLeap, steadyGait)
		h.vPeriod += sq(0.3 * p.period)
	}
	drift := float64(0.3 * b.drift)
	switch b.count % 8 {
	case 0:
		if p.kind != rushedGait {
			h := b.child(&p, oddsSweep*8, rushedGait)
			h.vBend += sq(2e-3 * p.period)
		}
	case 1:
		if p.kind != bentGait {
			h := b.child(&p, oddsBend*8+drift, bentGait)
			h.vBend += sq(1e-4 * p.period)
		}
	case 2:
		if p.kind != sweptGait {
			h := b.child(&p, oddsSweep*8+drift, sweptGait)
			h.vBend += sq(6e-4 * p.period)
		}
	case 3, 7:
		odds := oddsSlip * 4
		if which == wideBank {
			odds /= 100
		}
		h := b.child(&p, odds, p.kind)
		h.vOff += sq(30e6)
	case 5:
		if p.kind != steadyGait {
			odds := oddsSettle * 8 * (1 - b.drift)
			if p.kind == looseGait {
				odds = 0.5
			}
			h := b.child(&p, odds, steadyGait)
			h.vPeriod += sq(2e-4 * p.period)
		}
	case 6:
		if p.kind != looseGait {
			h := b.child(&p, oddsLoose*8, looseGait)
			h.vPeriod += sq(0.01 * p.period)
		}
	}
}
