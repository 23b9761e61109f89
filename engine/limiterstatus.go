package engine

import (
	"slices"

	"tactus/clock"
	"tactus/engine/flash"
	"tactus/fixtures"
)

// LimiterStatus says what the flash limiter does.
type LimiterStatus struct {
	Acting     bool       // it has held light back within the last second
	Count      uint64     // times that it began to
	Since      clock.Time // when it began the last time
	Area       string     // a head, a group or "the whole rig": the largest that is held back
	Kind       flash.Kind
	Wanted     float64 // flashes a second that were wanted there
	LetThrough float64 // of them let through
	Limit      int     // flashes a second that may be

	lastHeld clock.Time // when it held back
	wantedAt clock.Time // when Asked was so
}

// Last returns when it held light back last.
func (s *LimiterStatus) Last() clock.Time { return s.lastHeld }

// updateStatus says what was held back in this frame.
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
	a := &m.areas[m.worstArea]
	if a.Name != s.Area {
		s.Wanted = 0
	}
	asked, let := a.wanted.Rate(now), a.letThrough.Rate(now)
	s.Area, s.Kind = a.Name, flash.General
	if asked[flash.Red] > asked[flash.General] {
		s.Kind = flash.Red
	}
	s.LetThrough = let[s.Kind]
	if asked[s.Kind] >= s.Wanted || now-s.wantedAt >= clock.Second { // the most of late
		s.Wanted, s.wantedAt = asked[s.Kind], now
	}
}

// headStatus says which part of the rig that a head is in flashes most, as wanted: the
// head itself, unless a group of it or the whole rig does more.
func (m *limiter) headStatus(head int32, now clock.Time) (s LimiterStatus) {
	s.Limit, s.Wanted = m.maxFlashes, -1
	for i := range m.areas {
		a := &m.areas[i]
		if !slices.Contains(a.Heads, head) {
			continue
		}
		asked, let := a.wanted.Rate(now), a.letThrough.Rate(now)
		for k := range flash.NumKinds {
			if asked[k] > s.Wanted {
				s.Area, s.Kind, s.Wanted, s.LetThrough = a.Name, k, asked[k], let[k]
			}
		}
	}
	s.Wanted = max(s.Wanted, 0) // a head that gives no light is in no part
	return s
}

// mix makes of the state that is wanted the one whose light lies a share of the
// way from that of the frame before. Where light is a product of intensity and
// colour the two do not move evenly, the light does.
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

// rates are different rates of strobes in an area.
type rates struct {
	list [8]float64
	n    int
	sum  float64
}

// add adds a rate unless it is there: fixtures of one rate are taken to flash as
// one, for they are told so with the same frame (common practice, no source).
func (r *rates) add(hz float64) {
	for _, v := range r.list[:r.n] {
		if v == hz {
			return
		}
	}
	if r.n < len(r.list) {
		r.list[r.n] = hz
		r.n++
	}
	r.sum += hz
}

// limitStrobes limits the rates that fixtures flash at by themselves: in each area
// what differs adds up, and half of its changes in the last second is taken off.
// A strobe whose slowest rate is too fast stays open.
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
		room := max(0, float64(m.maxFlashes)-a.letThrough.Rate(now).Most())
		if all.sum <= room || lights < flash.Step-2*doubt {
			continue
		}
		m.worstArea, m.holding = max(m.worstArea, i), true
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

// copy makes m equal to another limiter. They share what is never written to: the
// heads and which of them an area has.
func (m *limiter) copy(from *limiter) {
	own := *m
	*m = *from
	m.areas = append(own.areas[:0], from.areas...)
	m.wanted = append(own.wanted[:0], from.wanted...)
	m.allowed = append(own.allowed[:0], from.allowed...)
	m.before = append(own.before[:0], from.before...)
	m.statesBefore = append(own.statesBefore[:0], from.statesBefore...)
	m.share = append(own.share[:0], from.share...)
	m.catchingUp = append(own.catchingUp[:0], from.catchingUp...)
}

// carryOver takes over what was counted by another program's limiter. heads and
// groups say what the old ones are now, or None.
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

// carryArea takes over what an area of another limiter has counted. to is the index
// of the head or group now, at where their areas are; None: there is none.
func (m *limiter) carryArea(old *limiter, i, to int32, at []int32) {
	if i == None || to == None || int(to) >= len(at) || at[to] == None {
		return
	}
	a, b := &m.areas[at[to]], &old.areas[i]
	a.letThrough, a.wanted = b.letThrough, b.wanted
}

// FlashArea says how a part of the rig flashes.
type FlashArea struct {
	Name       string         // of the head or the group, or "the whole rig"
	Heads      []int32        // read-only
	Wanted     *flash.Counter // of the light that was wanted, before the flash limiter
	LetThrough *flash.Counter // of the light that was let through; it counts from 9 % on
}

// FlashAreas returns how many parts of the rig are counted: heads that give
// light, groups, and the whole rig, which is the last.
func (e *Engine) FlashAreas() int { return len(e.limiter.areas) }

// FlashArea returns part i. Its meters are the engine's own and go on with every
// Frame.
func (e *Engine) FlashArea(i int) FlashArea {
	a := &e.limiter.areas[i]
	return FlashArea{a.Name, a.Heads, &a.wanted, &a.letThrough}
}
