package engine

import (
	"tactus/clock"
	"tactus/engine/flash"
	"tactus/fixtures"
)

const (
	// doubt is the largest difference, as a part of full, between the light on stage and
	// the calculated light: levels are rounded to bytes. So changes count from 9 % on.
	doubt = 0.005
	// catchUp is how long a head that was held back takes from dark to full.
	catchUp = clock.Second / 4
)

// limiter is the last layer: it holds back light that would flash too often. Each head,
// each group and the whole rig is an area, and changes of light are counted in each. A
// frame in which no area has too many changes is not changed.
//
//	wanted  ─┐ ┌─┐ ┌─┐ ┌─┐ ┌─┐ ┌──    the sixth change within a second may be a fall
//	         └─┘ └─┘ └─┘ └─┘ └─┘      only if a rise can follow soon: else the light
//	sent    ─┐ ┌─┐ ┌───╮╭─╮╭─╮╭───    stays up, and moves by less than flash.Step
//	         └─┘ └─┘   ╰╯ ╰╯ ╰╯
//
// Rules, for a limit of n flashes a second:
//
//   - a rise may be the last of 2n changes within a second; a fall only if the
//     first of them is a second old within 1/n s, so that nothing stays dark for
//     long;
//   - blackout may add one fall, work light one rise: alone they are no flash. If
//     it is pressed again within a second, the rule above holds;
//   - a head that is held back moves towards its wanted light: at once as far as
//     allowed, and later, when more is allowed, by the rest within catchUp;
//   - it moves in a straight line from the light of the frame before to the wanted
//     light, so it is never darker than both.
type limiter struct {
	heads      []flash.Head
	areas      []area      // heads, groups, the whole rig
	times      []areaTimes // of the changes in each area
	maxFlashes int         // a second
	// Index in areas by head and by group; None: no light.
	headAt, groupAt []int32

	// By head:
	wanted       []fixtures.RGB   // light before the limiter
	allowed      []fixtures.RGB   // light after it
	before       []fixtures.RGB   // allowed, in the frame before
	statesBefore []fixtures.State // as encoded in the frame before
	share        []float64        // how far allowed lies from before to wanted, 0..1
	catchingUp   []bool           // share was below 1 in the frame before

	at       clock.Time // of the frame before
	started  bool       // there was one
	blackout urgentKey
	work     urgentKey
	status   LimiterStatus
	strobing bool // a fixture strobes by itself in this frame
	holding  bool // an area is held back in this frame
}

// area is a part of the rig; its light is the sum of its heads.
type area struct {
	flash.Area
	sum        flash.Sample // of the light of its heads
	letThrough flash.Turns  // changes after the limiter; strict
	wanted     flash.Turns  // changes before the limiter
	heldAt     clock.Time   // when it was last held back; 0: never
}

// areaTimes are when the changes in an area were. They are apart from it because few
// frames need them: see flash.Turns.
type areaTimes struct{ letThrough, wanted flash.Times }

// urgentKey is blackout or work light. Its change is exempt from the limit, unless it
// was switched on less than a second before.
type urgentKey struct {
	on, exempt bool
	since      clock.Time // when it was last switched on; 0: never
}

func (u *urgentKey) set(on bool, now clock.Time) {
	if on && !u.on {
		u.exempt = u.since == 0 || now-u.since >= clock.Second
		u.since = now
	}
	u.on = on
	u.exempt = u.exempt && on
}

func newLimiter(p *Program) limiter {
	n := len(p.Heads)
	m := limiter{
		heads: make([]flash.Head, n), maxFlashes: flash.PerSecond,
		wanted: make([]fixtures.RGB, n), allowed: make([]fixtures.RGB, n), before: make([]fixtures.RGB, n),
		statesBefore: make([]fixtures.State, n), share: make([]float64, n), catchingUp: make([]bool, n),
	}
	copy(m.heads, flash.Heads(p.Patch))
	all := make([]int32, n)
	for h := range all {
		all[h] = int32(h)
		m.headAt = append(m.headAt, m.addArea(p.Heads[h].Name, all[h:h+1]))
	}
	for _, g := range p.Groups[:min(len(p.Groups), MaxGroups)] {
		m.groupAt = append(m.groupAt, m.addArea(g.Name, g.Heads))
	}
	m.addArea("the whole rig", all)
	return m
}

// addArea adds an area of some heads and returns its index, or None if they give no
// light.
func (m *limiter) addArea(name string, heads []int32) int32 {
	a := flash.NewArea(name, m.heads, heads)
	if len(a.Heads) == 0 {
		return None
	}
	m.areas = append(m.areas, area{Area: a, sum: flash.SampleOf(fixtures.RGB{}), letThrough: flash.StrictTurns(doubt)})
	m.times = append(m.times, areaTimes{})
	return int32(len(m.areas) - 1)
}

func (e *Engine) limitFlashes(now clock.Time) {
	m := &e.limiter
	if len(m.areas) == 0 {
		return
	}
	if e.isCopy {
		copy(e.sentLight, m.statesBefore)
		return
	}
	m.maxFlashes = flash.PerSecond
	if e.shown.song != None {
		m.maxFlashes = e.prog.Songs[e.shown.song].FlashLimit()
	}
	m.blackout.set(e.masters.blackout, now)
	m.work.set(e.workFade.goal > 0, now)
	m.findWanted(e.sentLight, e.prog.Heads, now)
	m.holdBack(now)
	m.writeStates(e.sentLight, now)
}

// findWanted calculates the wanted light of each head. Heads that were held back and are
// catching up may only move part of the way to it in this frame.
func (m *limiter) findWanted(lit []fixtures.State, heads []Head, now clock.Time) {
	step := float64(now-m.at) / float64(catchUp)
	m.strobing = false
	for h := range m.wanted {
		f := &m.heads[h]
		f.LimitColour(&lit[h])
		m.wanted[h] = f.Light(&lit[h])
		m.allowed[h], m.share[h] = m.wanted[h], 1
		m.strobing = m.strobing || f.Strobe.SlowHz > 0 && f.StrobeRate(&lit[h]) > 0
		if !m.catchingUp[h] || m.blackout.exempt && !heads[h].Spared || m.work.exempt && (heads[h].Work || heads[h].House) {
			continue
		}
		way, full := 0.0, 1.0
		for i, v := range m.wanted[h] {
			way = max(way, v-m.before[h][i], m.before[h][i]-v)
			full = max(full, v, m.before[h][i])
		}
		if way /= full; way > step {
			m.shorten(int32(h), max(0, step)/way)
		}
	}
}

// shorten multiplies a head's share by x, 0..1.
func (m *limiter) shorten(h int32, x float64) {
	m.share[h] *= x
	x = m.share[h]
	for i, v := range m.wanted[h] {
		m.allowed[h][i] = m.before[h][i] + float64(x*(v-m.before[h][i]))
	}
}

// Passes of holdBack. Holding one area back may cause a change in another, so it takes
// several: at first each area moves as far as is allowed, then not at all; at last no
// head moves, which is always allowed.
const (
	partPasses = 3
	allPasses  = partPasses + 3
)

// holdBack shortens the shares of heads until no area has too many changes.
func (m *limiter) holdBack(now clock.Time) {
	m.holding = false
	for pass := 0; ; pass++ {
		done := true
		for i := range m.areas {
			a := &m.areas[i]
			a.sum.Set(a.Light(m.allowed))
			if !m.started || m.allows(i, &a.sum, now) {
				continue
			}
			if pass > allPasses { // no head moves; only a restored state that contradicts itself comes here
				continue
			}
			done = false
			a.heldAt, m.holding = now, true
			if pass >= allPasses {
				for h := range m.share {
					m.shorten(int32(h), 0)
				}
				break
			}
			x := 0.0
			if pass < partPasses {
				x = m.furthest(i, now)
			}
			for _, h := range a.Heads {
				m.shorten(h, x)
			}
		}
		if done {
			return
		}
	}
}

// allows reports whether area i may show light l now.
func (m *limiter) allows(i int, l *flash.Sample, now clock.Time) bool {
	a := &m.areas[i]
	ch := a.letThrough.Predict(l)
	if ch == (flash.Change{}) {
		return true
	}
	falls := l.Luminance() < flash.Luminance(a.letThrough.LastLight())
	for k := range flash.NumKinds {
		if ch[k] == flash.Level {
			continue
		}
		n, until := m.times[i].letThrough.Changes(k, now)
		switch n - 2*m.maxFlashes + 1 { // changes above the limit, with this one
		case 0:
			if falls && until-now > flash.Window/clock.Time(m.maxFlashes) {
				return false
			}
		case 1:
			if falls && !m.blackout.exempt || !falls && !m.work.exempt {
				return false
			}
		default:
			if n >= 2*m.maxFlashes {
				return false
			}
		}
	}
	return true
}

// furthest returns the largest share, 0..1, of the way from the light that area i shows
// to its sum that the area may move.
func (m *limiter) furthest(i int, now clock.Time) float64 {
	a := &m.areas[i]
	sum := a.sum.Light()
	from, low, high := a.letThrough.LastLight(), 0.0, 1.0
	// Light that may not fall falls by less than flash.Step, even if it is bright.
	top := a.letThrough.MaxLuminance()
	least := min(flash.Luminance(from), top-flash.Step+2*doubt)
	for range 8 {
		mid := (low + high) / 2
		var l fixtures.RGB
		for c, v := range sum {
			l[c] = from[c] + float64(mid*(v-from[c]))
		}
		if s := flash.SampleOf(l); s.Luminance() >= least && m.allows(i, &s, now) {
			low = mid
		} else {
			high = mid
		}
	}
	return low
}

// writeStates writes the allowed light to the states, and counts its changes.
func (m *limiter) writeStates(lit []fixtures.State, now clock.Time) {
	held := false
	for h := range m.share {
		if m.catchingUp[h] = m.share[h] < 1; m.catchingUp[h] {
			held = true
			m.mix(h, &lit[h])
		}
	}
	for i := range m.areas {
		a, times := &m.areas[i], &m.times[i]
		times.letThrough.Update(now, a.letThrough.Observe(&a.sum))
		if held {
			a.sum.Set(a.Light(m.wanted))
		}
		times.wanted.Update(now, a.wanted.Observe(&a.sum))
	}
	if m.strobing {
		m.limitStrobes(lit, now)
	}
	m.updateStatus(now)
	m.before, m.allowed = m.allowed, m.before
	copy(m.statesBefore, lit)
	m.at, m.started = now, true
}
