package clock

import "math"

// A bank follows several hypotheses about the ticks, with one density of the noise.
type bank struct {
	hyps         [maxHyps]hypothesis
	live         int
	best         int // the likeliest
	proven       int // the one shown: likeliest among those at least provenAge old, with hysteresis
	count        int // ticks since the restart
	noise        noise
	bell         *bell
	line         line
	times        [trendTicks]Time // the times of the last ticks, as estimated when each arrived
	score        score
	spawnPause   int     // ticks for which no hypotheses are added, because a stall has just ended
	wasLate      bool    // the last tick was more than a tick late
	queue        bool    // ticks are coming out of a queue, after a silence
	meanMiss     float64 // mean distance of ticks from their expected times, ns
	noLearning   bool    // ticks are being processed again, and the noise must not be learned twice
	farTicks     int     // number of ticks for which all hypotheses have been far off
	noiseTooWide bool    // its noise is much wider than the trend measures
	newShare     float64 // share of the last bar, 0..1, in which the likeliest hypothesis was new
	driftShare   float64 // share of the last bars, 0..1, in which the tempo drifted
	latticeShare float64 // stepBank: share of the last ticks, 0..1, that its lattice explains
}

// tick processes a tick that arrived gap ns after the one before: it adds hypotheses,
// weighs all of them by the tick, and learns the noise. which is the bank's index.
func (b *bank) tick(gap float64, which int, bar *hypothesis) {
	b.count++
	b.spawnChanges(which)
	before := b.hyps[b.best]
	if gap >= 0.3*before.period {
		b.queue = gap > float64(holdAfter*before.period)+float64(holdExtra)+b.noise.top
	}
	for i := range b.live {
		h := &b.hyps[i]
		h.fromQueue = (which == closeBank || which == stepBank && b.queue) && -h.off > 0.5*h.period && gap < 0.3*h.period
		h.double = false
		h.step(gap)
	}
	b.recount(&before, gap, bar)
	for i := range b.live {
		h := &b.hyps[i]
		if h.double {
			continue
		}
		if h.fromQueue { // it waited in a queue, so its time says nothing about the tempo
			h.weight *= queueOdds
			continue
		}
		like, r, v := b.noise.weigh(b.bell, -h.off, math.Sqrt(h.vOff))
		h.weight *= like
		h.observe(-r, max(v, 1))
		if which == stepBank && i == b.best {
			in := 0.0
			if e := b.noise.top; r > -0.1*e && r < 1.1*e && like > 0.1/e {
				in = 1
			}
			b.latticeShare += (in - b.latticeShare) / 48
		}
		if !(h.period > 0.9*minPeriod && h.period < 1.1*maxPeriod) {
			h.weight, h.period, h.bend = 0, min(max(before.period, minPeriod), maxPeriod), 0 // no tempo
		}
	}
	b.prune()
	if h := &b.hyps[b.best]; which == closeBank {
		late := -h.off > h.period
		if h.fromQueue || late && !b.wasLate {
			b.spawnPause = 4
		}
		b.wasLate = late
		miss := -h.off - b.noise.mean
		b.meanMiss += (max(miss, -miss) - b.meanMiss) / lockTicks
	}
	b.updateShares()
	if h := &b.hyps[b.best]; which == closeBank && !h.fromQueue && !h.double && !b.noiseTooWide && !b.noLearning && b.count > lockTicks {
		b.learn(-h.off, math.Sqrt(h.vOff), h.age >= settledAge || b.count < 2*lockTicks)
	}
}

// follow gives the last tick the number n that it has in the bank shown.
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

// learnFromTrend learns the noise from the trend's residuals while the noise learned from
// tick to tick is much wider than they are: a drift of the tempo was learned as noise.
func (b *bank) learnFromTrend(t *trend) {
	b.noiseTooWide = t.full && b.noise.spread > astraySpread*math.Sqrt(t.power)
	if !b.noiseTooWide {
		return
	}
	for _, r := range t.late {
		b.learn(r-t.edge+b.noise.edge, 0, true)
	}
}

// timeOf returns the estimated time of tick number count since the restart.
func (b *bank) timeOf(count int) *Time { return &b.times[count%trendTicks] }

// learn adds a tick's lateness r to the noise; sd is its standard deviation. Both are in
// ns. If it is not settled, the lateness may be an error of a new hypothesis, and is only
// added to the record of the last beats.
func (b *bank) learn(r, sd float64, settled bool) {
	b.noise.learn(r, sd, settled)
	if shift := b.noise.fitBins(); shift != 0 {
		for i := range b.live {
			b.hyps[i].off += shift
		}
	}
}

func sq(x float64) float64 { return float64(x * x) }

// makeRoom drops the least useful hypothesis if there is no room for another.
func (b *bank) makeRoom() {
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

// prune drops unlikely hypotheses, scales the weights, and finds best and proven.
func (b *bank) prune() {
	best := 0.0
	for i := range b.live {
		if b.hyps[i].weight > best {
			best, b.best = b.hyps[i].weight, i
		}
	}
	if best == 0 { // no hypothesis explains the tick
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

// conclude sets the line to the mean, by weight, of the proven hypothesis and those that
// give the last tick the same number. A proven hypothesis of a steady tempo that is two
// beats old counts alone.
func (b *bank) conclude(at Time) {
	best := &b.hyps[b.proven]
	alone := best.kind == steadyTempo && best.age >= 2*lockTicks
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

// useStrip sets the line to the middle of a strip if the tempo is constant.
func (b *bank) useStrip(s *strip, at Time) {
	h := &b.hyps[b.proven]
	settled := h.kind == steadyTempo && h.age >= stripLeast && s.ticks >= 2*stripLeast
	if s.n == 0 || !settled && s.ticks < stripLong {
		return
	}
	mid, half := s.middle()
	b.line.at = at + Time(mid.off)
	b.line.period, b.line.bend = mid.period, 0
	b.line.err, b.line.drift = half.off+leastErr, half.period
}

// updateShares averages how often the likeliest hypothesis is new, and how often it drifts.
func (b *bank) updateShares() {
	young := 0.0
	if b.hyps[b.best].age < restless {
		young = 1
	}
	b.newShare += (young - b.newShare) / 96
	bent := 1.0
	if b.hyps[b.best].kind == steadyTempo {
		bent = 0
	}
	b.driftShare += (bent - b.driftShare) / 192
}
