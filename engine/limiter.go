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
	heads []flash.Head
	areas []area // heads, groups, the whole rig
	limit int    // flashes a second
	// Where the areas of heads and of groups are; None: they give no light.
	headAt, groupAt []int32

	// One a head:
	want  []fixtures.RGB   // light that is wanted
	light []fixtures.RGB   // light that is let through
	was   []fixtures.RGB   // light of the frame before
	shown []fixtures.State // state of the frame before, as encoded
	share []float64        // how far from was to want
	soft  []bool           // it was held back and is not there yet

	at            clock.Time // of the frame before
	begun         bool
	blackout      urgent
	work          urgent
	softening     LimiterStatus
	worst         int // area that holds most back in this frame; -1: none
	strobing, hit bool
}

// area is a part of the rig whose light is summed.
type area struct {
	flash.Area
	sum   fixtures.RGB
	out   flash.Meter // of what is let through; strict
	asked flash.Meter // of what is wanted
}

// urgent is a key whose change has a right of its own unless it is hammered.
type urgent struct {
	on, right bool
	since     clock.Time
}

func (u *urgent) press(on bool, now clock.Time) {
	if on && !u.on {
		u.right = u.since == 0 || now-u.since >= clock.Second
		u.since = now
	}
	u.on = on
	u.right = u.right && on
}

func newLimiter(p *Program) limiter {
	n := len(p.Heads)
	m := limiter{
		heads: make([]flash.Head, n), limit: flash.PerSecond, worst: -1,
		want: make([]fixtures.RGB, n), light: make([]fixtures.RGB, n), was: make([]fixtures.RGB, n),
		shown: make([]fixtures.State, n), share: make([]float64, n), soft: make([]bool, n),
	}
	copy(m.heads, flash.Heads(p.Patch))
	all := make([]int32, n)
	for h := range all {
		all[h] = int32(h)
		m.headAt = append(m.headAt, m.put(p.Heads[h].Name, all[h:h+1]))
	}
	for _, g := range p.Groups[:min(len(p.Groups), MaxGroups)] {
		m.groupAt = append(m.groupAt, m.put(g.Name, g.Heads))
	}
	m.put("the whole rig", all)
	return m
}

// put makes an area, unless it gives no light.
func (m *limiter) put(name string, heads []int32) int32 {
	a := flash.NewArea(name, m.heads, heads)
	if len(a.Heads) == 0 {
		return None
	}
	m.areas = append(m.areas, area{Area: a, out: flash.Strict(doubt)})
	return int32(len(m.areas) - 1)
}

// limitFlashes lays the limiter over the light that is to be encoded.
func (e *Engine) limitFlashes(now clock.Time) {
	m := &e.limit
	if len(m.areas) == 0 {
		return
	}
	if e.copied {
		copy(e.lit, m.shown)
		return
	}
	m.limit = flash.PerSecond
	if e.shown.song != None {
		m.limit = e.prog.Songs[e.shown.song].FlashLimit()
	}
	m.blackout.press(e.masters.blackout, now)
	m.work.press(e.work.goal > 0, now)
	m.reach(e.lit, e.prog.Heads, now)
	m.settle(now)
	m.keep(e.lit, now)
}

// reach finds what is wanted, and how far heads may go that were held back.
func (m *limiter) reach(lit []fixtures.State, heads []Head, now clock.Time) {
	step := float64(now-m.at) / float64(catchUp)
	m.strobing = false
	for h := range m.want {
		f := &m.heads[h]
		m.want[h] = f.Light(&lit[h])
		m.light[h], m.share[h] = m.want[h], 1
		m.strobing = m.strobing || f.Strobe.SlowHz > 0 && f.Rate(&lit[h]) > 0
		if !m.soft[h] || m.blackout.right && !heads[h].Spared || m.work.right && (heads[h].Work || heads[h].House) {
			continue
		}
		way := 0.0
		for i, v := range m.want[h] {
			way = max(way, v-m.was[h][i], m.was[h][i]-v)
		}
		if way > step {
			m.scale(int32(h), max(0, step)/way)
		}
	}
}

// scale lets a head go a share of the way that it went.
func (m *limiter) scale(h int32, x float64) {
	m.share[h] *= x
	x = m.share[h]
	for i, v := range m.want[h] {
		m.light[h][i] = m.was[h][i] + float64(x*(v-m.was[h][i]))
	}
}

// Passes of settle: areas overlap, so that what is held back in one may be a
// change in another. First each goes as far as it may, then not at all, then
// nothing moves in this frame, which is always allowed.
const (
	tries   = 3
	refusal = tries + 3
)

// settle holds areas back until none has a change too many.
func (m *limiter) settle(now clock.Time) {
	m.worst, m.hit = -1, false
	for pass := 0; ; pass++ {
		done := true
		for i := range m.areas {
			a := &m.areas[i]
			a.sum = a.Sum(m.light)
			if !m.begun || m.lets(a, a.sum, now) {
				continue
			}
			done = false
			m.worst, m.hit = max(m.worst, i), true
			if pass >= refusal {
				for h := range m.share {
					m.scale(int32(h), 0)
				}
				break
			}
			x := 0.0
			if pass < tries {
				x = m.most(a, now)
			}
			for _, h := range a.Heads {
				m.scale(h, x)
			}
		}
		if done {
			return
		}
	}
}

// lets reports whether an area may show a light now.
func (m *limiter) lets(a *area, l fixtures.RGB, now clock.Time) bool {
	ch := a.out.Would(l)
	if ch == (flash.Change{}) {
		return true
	}
	falls := flash.Luminance(l) < flash.Luminance(a.out.Last())
	for k := range flash.NumKinds {
		if ch[k] == flash.Level {
			continue
		}
		n, until := a.out.Changes(k, now)
		switch n - 2*m.limit + 1 { // this one counted, over the most there may be
		case 0:
			if falls && until-now > flash.Window/clock.Time(m.limit) {
				return false
			}
		case 1:
			if falls && !m.blackout.right || !falls && !m.work.right {
				return false
			}
		default:
			if n >= 2*m.limit {
				return false
			}
		}
	}
	return true
}

// most returns how far an area may go of the way to its sum: at least 0, for
// what it shows already it may show.
func (m *limiter) most(a *area, now clock.Time) float64 {
	from, low, high := a.out.Last(), 0.0, 1.0
	// Light that is held up stays within a step, where it is bright too.
	_, top := a.out.Span()
	floor := min(flash.Luminance(from), top-flash.Step+2*doubt)
	for range 8 {
		mid := (low + high) / 2
		var l fixtures.RGB
		for i, v := range a.sum {
			l[i] = from[i] + float64(mid*(v-from[i]))
		}
		if flash.Luminance(l) >= floor && m.lets(a, l, now) {
			low = mid
		} else {
			high = mid
		}
	}
	return low
}

// keep writes what was held back, and counts.
func (m *limiter) keep(lit []fixtures.State, now clock.Time) {
	held := false
	for h := range m.share {
		if m.soft[h] = m.share[h] < 1; m.soft[h] {
			held = true
			m.mix(h, &lit[h])
		}
	}
	for i := range m.areas {
		a := &m.areas[i]
		a.out.See(now, a.sum)
		if held {
			a.asked.See(now, a.Sum(m.want))
		} else {
			a.asked.See(now, a.sum)
		}
	}
	if m.strobing {
		m.strobes(lit, now)
	}
	m.note(now)
	m.was, m.light = m.light, m.was
	copy(m.shown, lit)
	m.at, m.begun = now, true
}
