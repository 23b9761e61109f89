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
	queue  bool    // ticks come at once after a silence
	miss   float64 // how far ticks lie from where they are expected, ns
	deaf   bool    // nothing is learned from ticks that have been learned from
	far    int     // for how many ticks all readings have been far off
	astray bool    // what it takes for noise is more than hindsight finds
	young  float64 // share of the last bar in which the likeliest reading was new
	drift  float64 // share of the last bars in which the tempo drifted
	fits   float64 // stepBank: share of the last ticks that its lattice explains
}

// tick takes a tick that comes gap ns after the one before.
func (b *bank) tick(gap float64, which int) {
	b.count++
	b.breed(which)
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
	b.remember()
	if h := &b.hyps[b.best]; which == closeBank && !h.held && !h.spare && !b.astray && !b.deaf && b.count > lockTicks {
		b.learn(-h.off, math.Sqrt(h.vOff), h.age >= settledAge || b.count < 2*lockTicks)
	}
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

// correct has a bank learn from hindsight while it takes a tempo that drifts away
// from it for noise.
func (b *bank) correct(t *trend) {
	b.astray = t.full && b.noise.spread > astraySpread*math.Sqrt(t.power)
	if !b.astray {
		return
	}
	for _, r := range t.late {
		b.learn(r-t.edge+b.noise.edge, 0, true)
	}
}

// past returns where tick number count since the restart was thought to fall.
func (b *bank) past(count int) *Time { return &b.lines[count%trendTicks] }

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

// remember notes whether the likeliest reading is new, and whether its tempo drifts.
func (b *bank) remember() {
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
}
