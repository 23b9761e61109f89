package clock

import "math"

// A bank weighs several readings of the ticks beside each other.
type bank struct {
	hyps   [maxHyps]hypothesis
	live   int
	best   int // the likeliest
	proven int // the likeliest of those that have stood for some ticks
	count  int
	noise  noise
	bell   *bell
	line   line
	lines  [trendTicks]Time // where the last ticks were thought to fall
	score  score
	shaken int     // ticks until one may be taken at its word again
	behind bool    // the last tick came more than a tick late
	miss   float64 // how far ticks lie from where they are expected, ns
	deaf   bool    // nothing is learned from ticks that have been learned from
	far    int     // for how many ticks all readings have been far off
	astray bool    // what it takes for noise is more than hindsight finds
	young  float64 // share of the last bar in which the likeliest reading was new
	drift  float64 // share of the last bars in which the tempo drifted
	fits   float64 // stepBank: share of the last ticks that its lattice explains
}

// first takes the first tick after a restart, which is number n: all that is known
// of the tempo is what it was before.
func (b *bank) first(n int64, before float64) {
	b.count, b.live, b.drift, b.best, b.proven = 1, 0, 0, 0, 0
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

// tick takes a tick that comes gap ns after the one before.
func (b *bank) tick(gap float64, which int) {
	b.count++
	b.breed(which)
	before := b.hyps[b.best]
	for i := range b.live {
		h := &b.hyps[i]
		h.held = which == closeBank && -h.off > 0.5*h.period && gap < 0.3*h.period
		h.spare = false
		h.step(gap)
	}
	b.recount(&before, gap)
	for i := range b.live {
		h := &b.hyps[i]
		if h.spare {
			continue
		}
		if h.held { // a queue empties at once: the tick says nothing more
			h.weight *= queueOdds
			continue
		}
		like, r, v := b.noise.weigh(b.bell, -h.off, math.Sqrt(h.vOff))
		h.weight *= like
		h.meet(-r, max(v, 1))
		if which == stepBank && i == b.best {
			in := 0.0
			if e := b.noise.top; r > -0.1*e && r < 1.1*e && like > 0.1/e {
				in = 1
			}
			b.fits += (in - b.fits) / 48
		}
		if !(h.period > 0.9*minPeriod && h.period < 1.1*maxPeriod) {
			h.weight, h.period, h.bend = 0, min(max(before.period, minPeriod), maxPeriod), 0 // no tempo
		}
	}
	b.prune()
	if h := &b.hyps[b.best]; which == closeBank {
		late := -h.off > h.period
		if h.held || late && !b.behind {
			b.shaken = 4
		}
		b.behind = late
		miss := -h.off - b.noise.mean
		b.miss += (max(miss, -miss) - b.miss) / lockTicks
	}
	young := 0.0
	if b.hyps[b.best].age < restless {
		young = 1
	}
	b.young += (young - b.young) / 96
	bent := 1.0
	if b.hyps[b.best].kind == steadyGait {
		bent = 0
	}
	b.drift += (bent - b.drift) / 192
	if h := &b.hyps[b.best]; which == closeBank && !h.held && !h.spare && !b.astray && !b.deaf && b.count > lockTicks {
		b.learn(-h.off, math.Sqrt(h.vOff), h.age >= settledAge || b.count < 2*lockTicks)
	}
}

// recount lets readings leave the likeliest in which ticks were lost before this
// one, or this one came twice. Only where ticks can be told apart one by one.
func (b *bank) recount(before *hypothesis, gap float64) {
	best := &b.hyps[b.best]
	late, period := -best.off, best.period
	silent := gap > float64(holdAfter*period)+float64(holdExtra)
	if b.count < fewTicks || silent && b.count < 2*fewTicks || best.vPeriod > sq(0.03*period) || best.vOff > sq(0.25*period) {
		return // no line to judge by
	}
	if !silent && (b.noise.seen < lockTicks || 2*b.noise.spread > b.quiet()*period || b.stepped(period)) {
		return
	}
	if late > lostShare*period {
		odds := oddsLost
		if silent {
			odds = 0.5
		}
		h := b.child(best, odds, best.kind)
		for range roundToInt(late / period) {
			h.step(0)
		}
		h.age = provenAge // it goes on as before: there is nothing to wait for
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
	return b.noise.spread < 0.01*period && known(period, 0.004)
}

// follow counts as the bank that is shown does.
func (b *bank) follow(n int64) {
	if b.live == 0 || b.line.n == n {
		return
	}
	by := n - b.line.n
	for i := range b.live {
		h := &b.hyps[i]
		h.n += by
		h.off += float64(float64(by) * h.period)
	}
	b.line.n = n
}

// lost tells whether ticks have been more than a tick off all readings for a beat:
// none of them will come back by itself.
func (b *bank) lost(l *lock) bool {
	h := &b.hyps[b.best]
	if h.held {
		return false
	}
	if off := h.off; max(off, -off) < 1.2*h.period {
		b.far = 0
		return false
	}
	b.far++
	return b.far >= lockTicks && l.count > lockTicks
}

// again begins anew on a straight line through the last beat.
func (b *bank) again(l *lock) {
	n := b.hyps[b.best].n
	off, period := l.recent(lockTicks)
	b.far, b.live, b.best, b.proven = 0, 1, 0, 0
	b.hyps[0] = hypothesis{
		n: n, off: off + float64(period) - float64(l.last-l.back(0).at), period: period,
		vOff: sq(period / 2), vPeriod: sq(0.02 * period), weight: 1,
	}
}

// correct has a bank learn from hindsight while it takes a tempo that drifts away
// from it for noise.
func (b *bank) correct(t *trend) {
	sd := math.Sqrt(t.power)
	b.astray = t.full && b.noise.spread > astraySpread*sd
	if !b.astray {
		return
	}
	for _, r := range t.late {
		b.learn(r+1.5*sd+b.noise.edge, 0, true)
	}
}

// past returns where tick number count since the restart was thought to fall.
func (b *bank) past(count int) *Time { return &b.lines[count%trendTicks] }

// gauge learns the noise of the first beat from a straight line through it.
func (b *bank) gauge(l *lock) {
	off, period := l.recent(l.count)
	var late [lockTicks]float64
	least := everything
	n := min(l.count, lockTicks)
	for i := range n {
		p := l.back(i)
		late[i] = float64(p.at-l.back(0).at) - off + float64(period*float64(i))
		least = min(least, late[i])
	}
	var wide float64
	for i, r := range late[:n] {
		late[i] = r - least
		if late[i] < 2*period { // else it was held up
			wide = max(wide, late[i])
		}
	}
	b.noise.begin()
	b.noise.rebin(b.noise.binFor(wide), 0)
	b.noise.level(&b.noise.slow, 0.05)
	b.noise.level(&b.noise.fast, 0.05)
	b.noise.seen = 0.05
	for _, r := range late[:n] {
		if r <= wide {
			b.noise.learn(r, 0, true)
		}
	}
}

// rethink takes all ticks since the restart anew, with what has been learned of the
// noise from them: the first were judged by little.
func (b *bank) rethink(l *lock) {
	before := *b
	n := l.count
	b.first(l.back(n-1).n, l.line.period)
	b.deaf = true
	for i := n - 2; i >= 0; i-- {
		b.tick(float64(l.back(i).at-l.back(i+1).at), closeBank)
	}
	b.deaf = false
	ratio := b.hyps[b.proven].period / before.hyps[before.proven].period
	if alike := ratio > 0.97 && ratio < 1.03; n > lockTicks && !alike && b.miss > 0.8*before.miss {
		*b = before // it was no better to begin anew
	}
}

// learn takes a lateness that is known to within sd. One that is seen while the
// reading is new may be its error.
func (b *bank) learn(r, sd float64, settled bool) {
	b.noise.learn(r, sd, settled)
	if shift := b.noise.fit(); shift != 0 {
		for i := range b.live {
			b.hyps[i].off += shift
		}
	}
}

// replay takes the last ticks of a lock anew, with the noise of its lattice.
func (b *bank) replay(l *lock) {
	b.noise.lattice(l.lattice.every, l.lattice.jitter)
	b.fits, b.young = 1, 0
	from := min(l.count, ringTicks*3/4)
	b.first(l.back(from-1).n, l.line.period)
	for i := from - 2; i >= 0; i-- {
		b.tick(float64(l.back(i).at-l.back(i+1).at), stepBank)
	}
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
		h := b.child(&p, oddsStep, steadyGait)
		h.vPeriod += sq(0.03 * p.period)
		h = b.child(&p, oddsLeap, steadyGait)
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

func sq(x float64) float64 { return float64(x * x) }

// room makes room for one more reading.
func (b *bank) room() {
	if b.live < maxHyps {
		return
	}
	least, at := everything, -1
	for i := range b.live {
		h := &b.hyps[i]
		if i == b.best || i == b.proven {
			continue
		}
		w := h.weight
		if h.age < youngTicks {
			w += 1
		}
		if w < least {
			least, at = w, i
		}
	}
	b.drop(at)
}

func (b *bank) drop(i int) {
	b.live--
	if b.best == b.live {
		b.best = i
	}
	if b.proven == b.live {
		b.proven = i
	}
	b.hyps[i] = b.hyps[b.live]
}

// prune drops readings that are no longer worth the work, and finds the best.
func (b *bank) prune() {
	best := 0.0
	for i := range b.live {
		if b.hyps[i].weight > best {
			best, b.best = b.hyps[i].weight, i
		}
	}
	if best == 0 { // none explains it
		for i := range b.live {
			b.hyps[i].weight = 1
		}
		best = 1
	}
	proven := -1
	for i := range b.live {
		h := &b.hyps[i]
		h.weight = max(h.weight/best, faintWeight)
		if h.age >= provenAge && (proven < 0 || h.weight > b.hyps[proven].weight) {
			proven = i
		}
	}
	if proven < 0 {
		proven = b.best
	}
	if b.proven >= b.live || b.hyps[proven].weight > provenOdds*b.hyps[b.proven].weight {
		b.proven = proven
	}
	for i := 0; i < b.live; i++ {
		h := &b.hyps[i]
		if h.weight < leastWeight && h.age >= youngTicks && i != b.best && i != b.proven {
			b.drop(i)
			i--
		}
	}
}

// conclude draws the line from the reading that has proved itself. A new one has to
// stand for some ticks first, and to be clearly likelier: a tick that was held up
// makes many.
func (b *bank) conclude(at Time) {
	best := &b.hyps[b.proven]
	alone := best.kind == steadyGait && best.age >= 2*lockTicks
	var w, off, period, bend float64
	for i := range b.live {
		h := &b.hyps[i]
		if i != b.proven && (alone || h.n != best.n || h.age < provenAge) {
			continue
		}
		w += h.weight
		off += float64(h.weight * h.off)
		period += float64(h.weight * h.period)
		bend += float64(h.weight * h.bend)
	}
	b.line = line{
		n: best.n, at: at + Time(off/w+b.noise.edge), period: min(max(period/w, minPeriod), maxPeriod), bend: bend / w,
		err: 2*math.Sqrt(best.vOff) + 0.08*b.noise.spread + leastErr, drift: 2 * math.Sqrt(best.vPeriod),
	}
}

// narrow draws the line through the middle of a strip, where the tempo stands.
func (b *bank) narrow(s *strip, at Time) {
	h := &b.hyps[b.proven]
	settled := h.kind == steadyGait && h.age >= stripLeast && s.ticks >= 2*stripLeast
	if s.n == 0 || !settled && s.ticks < stripLong {
		return
	}
	mid, half := s.middle()
	b.line.at = at + Time(mid.off)
	b.line.period, b.line.bend = mid.period, 0
	b.line.err, b.line.drift = half.off+leastErr, half.period
}
