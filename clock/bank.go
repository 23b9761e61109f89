package clock

import "math"

// A bank follows several hypotheses about the ticks, with one density of the noise.
type bank struct {
	hyps         [maxHyps]hypothesis
	live         int
	best         int // the likeliest
	proven       int // the one shown: likeliest among those at least provenAge old, with hysteresis
	count        int
	noise        noise
	bell         *bell
	line         line
	lines        [trendTicks]Time // when the last ticks fell, as estimated on their arrival
	score        score
	spawnPause   int        // ticks for which no hypotheses are spawned: a stall is over just now
	wasLate      bool       // the last tick was more than a tick late
	queue        bool       // ticks are coming out of a queue, after a silence
	meanMiss     float64    // mean distance of ticks from where they are expected, ns
	noLearning   bool       // ticks are processed again: the noise is not learned twice
	farTicks     int        // for how many ticks all hypotheses have been far off
	noiseTooWide bool       // its noise is much wider than hindsight measures
	newShare     float64    // share of the last bar in which the likeliest hypothesis was new
	driftShare   float64    // share of the last bars in which the tempo drifted
	latticeShare float64    // stepBank: share of the last ticks that its lattice explains
	lastBar      hypothesis // before a silence: the straight line through the last bar; it has no weight if there is none
}

// tick takes a tick that comes gap ns after the one before.
func (b *bank) tick(gap float64, which int) {
	b.count++
	b.spawnChanges(which)
	before := b.hyps[b.best]
	if gap >= 0.3*before.period {
		b.queue = gap > float64(holdAfter*before.period)+float64(holdExtra)+b.noise.top
	}
	for i := range b.live {
		h := &b.hyps[i]
		h.held = (which == closeBank || which == stepBank && b.queue) && -h.off > 0.5*h.period && gap < 0.3*h.period
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
		if h.held || late && !b.wasLate {
			b.spawnPause = 4
		}
		b.wasLate = late
		miss := -h.off - b.noise.mean
		b.meanMiss += (max(miss, -miss) - b.meanMiss) / lockTicks
	}
	b.updateShares()
	if h := &b.hyps[b.best]; which == closeBank && !h.held && !h.spare && !b.noiseTooWide && !b.noLearning && b.count > lockTicks {
		b.learn(-h.off, math.Sqrt(h.vOff), h.age >= settledAge || b.count < 2*lockTicks)
	}
}

// follow makes the last tick number n, as in the bank that is shown.
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

// learnFromTrend learns the noise from hindsight while a tempo that drifts away
// would be learned as noise.
func (b *bank) learnFromTrend(t *trend) {
	b.noiseTooWide = t.full && b.noise.spread > astraySpread*math.Sqrt(t.power)
	if !b.noiseTooWide {
		return
	}
	for _, r := range t.late {
		b.learn(r-t.edge+b.noise.edge, 0, true)
	}
}

// past returns the estimated time of tick number count since the restart.
func (b *bank) past(count int) *Time { return &b.lines[count%trendTicks] }

// learn adds a lateness, known to a standard deviation of sd, ns. If not settled, it
// may be an error of a new hypothesis, and only the short record takes it.
func (b *bank) learn(r, sd float64, settled bool) {
	b.noise.learn(r, sd, settled)
	if shift := b.noise.fit(); shift != 0 {
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

// conclude sets the line from the proven hypothesis and those that count as it does,
// averaged by weight.
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

// useStrip sets the line to the middle of a strip where the tempo is constant.
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
