package engine

import (
	"tactus/clock"
	"tactus/engine/flash"
	"tactus/fixtures"
)

const (
	// doubt is how far the light on stage may be from what is reckoned here, of
	// full: levels are rounded to bytes. Changes count from 9 % on for it.
	doubt = 0.005
	// catchUp is how long a head takes, that was held back, from dark to full.
	catchUp = clock.Second / 4
)

// limiter is the last layer: it holds back light that would flash more often
// than it may. Each head, each group and the whole rig is an area with a count of
// its own. A frame in which no area has a change too many is left as it is.
//
//	wanted  ─┐ ┌─┐ ┌─┐ ┌─┐ ┌─┐ ┌──    a sixth change within a second is a fall only
//	         └─┘ └─┘ └─┘ └─┘ └─┘      if a rise can soon follow: else the light
//	lit     ─┐ ┌─┐ ┌───╮╭─╮╭─╮╭───    stays up, and moves by less than a Step
//	         └─┘ └─┘   ╰╯ ╰╯ ╰╯
//
// What it remembers is a part of what a frame depends on: see memory.
//
// Rules, for a limit of n flashes a second:
//
//   - a rise may be the last of 2n changes within a second; a fall only if the
//     first of them is over within 1/n s, so that nothing is left dark for long;
//   - one more is let through when blackout or work light asks for it: blackout a
//     fall, work light a rise. Alone it is no flash. A key that is hammered, more
//     than once a second, has no such right;
//   - what is held back goes on towards what is wanted: at once as far as it may,
//     and the rest, when there is room, in catchUp at most;
//   - light goes part of the way from the frame before to the one that is wanted,
//     and so is never darker than both.
type limiter struct {
	heads      []flash.Head
	areas      []area // heads, groups, the whole rig
	maxFlashes int    // flashes a second
	// Where the areas of heads and of groups are; None: they give no light.
	headAt, groupAt []int32

	// One a head:
	wanted       []fixtures.RGB   // light that is wanted
	allowed      []fixtures.RGB   // light that is let through
	before       []fixtures.RGB   // light of the frame before
	statesBefore []fixtures.State // state of the frame before, as encoded
	share        []float64        // how far from was to want
	catchingUp   []bool           // it was held back and is not there yet

	at                clock.Time // of the frame before
	started           bool
	blackout          urgentKey
	work              urgentKey
	status            LimiterStatus
	worstArea         int // area that holds most back in this frame; -1: none
	strobing, holding bool
}

// area is a part of the rig whose light is summed.
type area struct {
	flash.Area
	sum        fixtures.RGB
	letThrough flash.Counter // of what is let through; strict
	wanted     flash.Counter // of what is wanted
}

// urgentKey is a key whose change has a right of its own unless it is hammered.
type urgentKey struct {
	on, exempt bool
	since      clock.Time
}

func (u *urgentKey) press(on bool, now clock.Time) {
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
		heads: make([]flash.Head, n), maxFlashes: flash.PerSecond, worstArea: -1,
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

// addArea makes an area, unless it gives no light.
func (m *limiter) addArea(name string, heads []int32) int32 {
	a := flash.NewArea(name, m.heads, heads)
	if len(a.Heads) == 0 {
		return None
	}
	m.areas = append(m.areas, area{Area: a, letThrough: flash.Strict(doubt)})
	return int32(len(m.areas) - 1)
}

// limitFlashes lays the limiter over the light that is to be encoded.
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
	m.blackout.press(e.masters.blackout, now)
	m.work.press(e.workFade.goal > 0, now)
	m.findWanted(e.sentLight, e.prog.Heads, now)
	m.holdBack(now)
	m.writeStates(e.sentLight, now)
}

// findWanted finds what is wanted, and how far heads may go that were held back.
func (m *limiter) findWanted(lit []fixtures.State, heads []Head, now clock.Time) {
	step := float64(now-m.at) / float64(catchUp)
	m.strobing = false
	for h := range m.wanted {
		f := &m.heads[h]
		m.wanted[h] = f.Light(&lit[h])
		m.allowed[h], m.share[h] = m.wanted[h], 1
		m.strobing = m.strobing || f.Strobe.SlowHz > 0 && f.StrobeRate(&lit[h]) > 0
		if !m.catchingUp[h] || m.blackout.exempt && !heads[h].Spared || m.work.exempt && (heads[h].Work || heads[h].House) {
			continue
		}
		way := 0.0
		for i, v := range m.wanted[h] {
			way = max(way, v-m.before[h][i], m.before[h][i]-v)
		}
		if way > step {
			m.shorten(int32(h), max(0, step)/way)
		}
	}
}

// shorten lets a head go a share of the way that it went.
func (m *limiter) shorten(h int32, x float64) {
	m.share[h] *= x
	x = m.share[h]
	for i, v := range m.wanted[h] {
		m.allowed[h][i] = m.before[h][i] + float64(x*(v-m.before[h][i]))
	}
}

// Passes of settle: areas overlap, so that what is held back in one may be a
// change in another. First each goes as far as it may, then not at all, then
// nothing moves in this frame, which is always allowed.
const (
	tries   = 3
	refusal = tries + 3
)

// holdBack holds areas back until none has a change too many.
func (m *limiter) holdBack(now clock.Time) {
	m.worstArea, m.holding = -1, false
	for pass := 0; ; pass++ {
		done := true
		for i := range m.areas {
			a := &m.areas[i]
			a.sum = a.Light(m.allowed)
			if !m.started || m.allows(a, a.sum, now) {
				continue
			}
			done = false
			m.worstArea, m.holding = max(m.worstArea, i), true
			if pass >= refusal {
				for h := range m.share {
					m.shorten(int32(h), 0)
				}
				break
			}
			x := 0.0
			if pass < tries {
				x = m.furthest(a, now)
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

// allows reports whether an area may show a light now.
func (m *limiter) allows(a *area, l fixtures.RGB, now clock.Time) bool {
	ch := a.letThrough.Predict(l)
	if ch == (flash.Change{}) {
		return true
	}
	falls := flash.Luminance(l) < flash.Luminance(a.letThrough.LastLight())
	for k := range flash.NumKinds {
		if ch[k] == flash.Level {
			continue
		}
		n, until := a.letThrough.Changes(k, now)
		switch n - 2*m.maxFlashes + 1 { // this one counted, over the most there may be
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

// furthest returns how far an area may go of the way to its sum: at least 0, for
// what it shows already it may show.
func (m *limiter) furthest(a *area, now clock.Time) float64 {
	from, low, high := a.letThrough.LastLight(), 0.0, 1.0
	// Light that is held up stays within a step, where it is bright too.
	top := a.letThrough.MaxLuminance()
	floor := min(flash.Luminance(from), top-flash.Step+2*doubt)
	for range 8 {
		mid := (low + high) / 2
		var l fixtures.RGB
		for i, v := range a.sum {
			l[i] = from[i] + float64(mid*(v-from[i]))
		}
		if flash.Luminance(l) >= floor && m.allows(a, l, now) {
			low = mid
		} else {
			high = mid
		}
	}
	return low
}

// writeStates writes what was held back, and counts.
func (m *limiter) writeStates(lit []fixtures.State, now clock.Time) {
	held := false
	for h := range m.share {
		if m.catchingUp[h] = m.share[h] < 1; m.catchingUp[h] {
			held = true
			m.mix(h, &lit[h])
		}
	}
	for i := range m.areas {
		a := &m.areas[i]
		a.letThrough.Observe(now, a.sum)
		if held {
			a.wanted.Observe(now, a.Light(m.wanted))
		} else {
			a.wanted.Observe(now, a.sum)
		}
	}
	if m.strobing {
		m.limitStrobes(lit, now)
	}
	m.updateStatus(now)
	m.before, m.allowed = m.allowed, m.before
	copy(m.statesBefore, lit)
	m.at, m.started = now, true
}
