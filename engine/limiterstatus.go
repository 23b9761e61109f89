package engine

import (
	"slices"

	"tactus/clock"
	"tactus/engine/flash"
	"tactus/fixtures"
)

// LimiterStatus is what the flash limiter does: to the whole rig, or to one head.
// It describes one area: of those held back within the last second, or of those that
// contain the head, the one with the most flashes in its wanted light; if several have
// equally many, the smallest.
type LimiterStatus struct {
	Acting     bool       // it held light back within the last second
	Count      uint64     // how often it began to act
	Since      clock.Time // when it last began to
	Area       string     // a head, a group or "the whole rig"
	Kind       flash.Kind // of the flashes there
	Wanted     float64    // flashes a second before the limiter
	LetThrough float64    // flashes a second after it
	Limit      int        // allowed flashes a second

	lastHeld clock.Time // when it last held light back
	wantedAt clock.Time // when Wanted was counted
}

// Last returns when it last held light back.
func (s *LimiterStatus) Last() clock.Time { return s.lastHeld }

// updateStatus updates the status after a frame. Wanted is the highest of about the
// last second.
func (m *limiter) updateStatus(now clock.Time) {
	s := &m.status
	s.Limit = m.maxFlashes
	if !m.holding {
		s.Acting = s.Acting && now-s.lastHeld < clock.Second
		return
	}
	if !s.Acting {
		s.Acting, s.Since = true, now
		s.Count++
	}
	s.lastHeld = now
	worst := m.worstArea(func(a *area) bool { return a.heldAt != 0 && now-a.heldAt < clock.Second }, now)
	if worst.Area != s.Area || worst.Wanted >= s.Wanted || now-s.wantedAt >= clock.Second {
		s.Wanted, s.wantedAt = worst.Wanted, now
	}
	s.Area, s.Kind, s.LetThrough = worst.Area, worst.Kind, worst.LetThrough
}

// headStatus returns the status of a head; its area is empty if it gives no light.
func (m *limiter) headStatus(head int32, now clock.Time) LimiterStatus {
	return m.worstArea(func(a *area) bool { return slices.Contains(a.Heads, head) }, now)
}

// worstArea returns the status of the area with the most flashes in its wanted light,
// among those that counts accepts. If several have equally many, it is the first, which
// is the smallest.
func (m *limiter) worstArea(counts func(*area) bool, now clock.Time) (s LimiterStatus) {
	s.Limit, s.Wanted = m.maxFlashes, -1
	for i := range m.areas {
		a := &m.areas[i]
		if !counts(a) {
			continue
		}
		wanted, let := m.times[i].wanted.Rate(now), m.times[i].letThrough.Rate(now)
		k := flash.General
		if wanted[flash.Red] > wanted[k] {
			k = flash.Red
		}
		if wanted[k] > s.Wanted {
			s.Area, s.Kind, s.Wanted, s.LetThrough = a.Name, k, wanted[k], let[k]
		}
	}
	s.Wanted = max(s.Wanted, 0) // no area: the head gives no light
	return s
}

// mix changes a head's wanted state so that its light has moved only by the head's share
// of the way from the light of the frame before. The light moves evenly; intensity and
// colour, if light is their product, do not.
func (m *limiter) mix(h int, to *fixtures.State) {
	from, f, x := &m.statesBefore[h], &m.heads[h], m.share[h]
	if x == 0 {
		to[fixtures.Intensity], to[fixtures.UV] = from[fixtures.Intensity], from[fixtures.UV]
		to.SetColour(from.Colour())
		return
	}
	a := float64(f.Curve.Light(from[fixtures.Intensity]) * (1 - x))
	b := float64(f.Curve.Light(to[fixtures.Intensity]) * x)
	to[fixtures.Intensity] = f.Curve.Level(a + b)
	to[fixtures.UV] = float64(from[fixtures.UV]*(1-x)) + float64(to[fixtures.UV]*x)
	if !f.Coloured || a+b == 0 {
		return
	}
	for q := fixtures.Red; q <= fixtures.Blue; q++ {
		to[q] = (float64(a*from[q]) + float64(b*to[q])) / (a + b)
	}
}

// rates are the different rates of strobes in an area, in Hz.
type rates struct {
	list [8]float64
	n    int
	sum  float64
}

// add adds a rate unless it is there: fixtures of the same rate are assumed to flash
// together, as the same frame starts them (common practice, no source).
func (r *rates) add(hz float64) {
	if slices.Contains(r.list[:r.n], hz) {
		return
	}
	if r.n < len(r.list) {
		r.list[r.n] = hz
		r.n++
	}
	r.sum += hz
}

// limitStrobes limits the rates at which fixtures strobe by themselves. In each area
// different rates add up. Their sum may not exceed the limit less the flashes that the
// area had in the last second. A strobe stays open if its slowest rate is too fast.
func (m *limiter) limitStrobes(lit []fixtures.State, now clock.Time) {
	for i := range m.areas {
		a := &m.areas[i]
		var all rates
		lights := 0.0
		for n, h := range a.Heads {
			if hz := m.heads[h].StrobeRate(&lit[h]); hz > 0 {
				all.add(hz)
				lights += float64(a.Shares[n] * flash.Luminance(m.allowed[h]))
			}
		}
		room := max(0, float64(m.maxFlashes)-m.times[i].letThrough.Rate(now).Most())
		if all.sum <= room || lights < flash.Step-2*doubt {
			continue
		}
		a.heldAt, m.holding = now, true
		for _, h := range a.Heads {
			f := &m.heads[h]
			hz := f.StrobeRate(&lit[h]) * room / all.sum
			if hz < f.Strobe.SlowHz {
				hz = 0
			}
			lit[h][fixtures.Strobe] = min(lit[h][fixtures.Strobe], hz/fixtures.MaxStrobe)
		}
	}
}

// copy makes m equal to another limiter. They share only what is read-only.
func (m *limiter) copy(from *limiter) {
	own := *m
	*m = *from
	m.areas, m.times = append(own.areas[:0], from.areas...), append(own.times[:0], from.times...)
	m.wanted = append(own.wanted[:0], from.wanted...)
	m.allowed = append(own.allowed[:0], from.allowed...)
	m.before = append(own.before[:0], from.before...)
	m.statesBefore = append(own.statesBefore[:0], from.statesBefore...)
	m.share = append(own.share[:0], from.share...)
	m.catchingUp = append(own.catchingUp[:0], from.catchingUp...)
}

// carryOver takes over the counts of an old program's limiter. heads and groups have
// the new index of each old one, or None.
func (m *limiter) carryOver(old *limiter, heads, groups []int32) {
	for h, to := range heads {
		if to != None {
			m.before[to], m.statesBefore[to], m.catchingUp[to] = old.before[h], old.statesBefore[h], old.catchingUp[h]
		}
	}
	for h, i := range old.headAt {
		m.carryArea(old, i, heads[h], m.headAt)
	}
	for g, i := range old.groupAt {
		m.carryArea(old, i, groups[g], m.groupAt)
	}
	if len(old.areas) > 0 && len(m.areas) > 0 {
		m.carryArea(old, int32(len(old.areas)-1), 0, []int32{int32(len(m.areas) - 1)})
	}
	m.at, m.started, m.status = old.at, old.started, old.status
	m.blackout, m.work = old.blackout, old.work
}

// carryArea takes over the counts of area i of an old limiter. to is the new index of
// its head or group, and at has the areas by that index; all may be None.
func (m *limiter) carryArea(old *limiter, i, to int32, at []int32) {
	if i == None || to == None || int(to) >= len(at) || at[to] == None {
		return
	}
	a, b := &m.areas[at[to]], &old.areas[i]
	a.letThrough, a.wanted, a.heldAt = b.letThrough, b.wanted, b.heldAt
	m.times[at[to]] = old.times[i]
}

// FlashArea is a part of the rig whose flashes are counted.
type FlashArea struct {
	Name       string       // of the head or the group, or "the whole rig"
	Heads      []int32      // read-only
	Wanted     *flash.Times // changes of its light before the flash limiter
	LetThrough *flash.Times // changes of its light after it; they count from 9 % on
}

// FlashAreas returns how many areas there are: heads that give light, groups, and the
// whole rig, which is the last.
func (e *Engine) FlashAreas() int { return len(e.limiter.areas) }

// FlashArea returns area i. The engine owns its times; every Frame changes them.
func (e *Engine) FlashArea(i int) FlashArea {
	a, times := &e.limiter.areas[i], &e.limiter.times[i]
	return FlashArea{a.Name, a.Heads, &times.wanted, &times.letThrough}
}
