package engine

import (
	"tactus/clock"
	"tactus/fixtures"
)

// Reload goes on with another program, right after the frame at pos. It returns
// false, and changes nothing, if the revision is not one of the program that is
// played. Nothing is allocated.
//
// Light is carried by the names of heads and does not jump: by how much the new
// look differs from what was lit is taken off over Program.Ease. Where nothing
// differs every byte is as it would have been. Masters, floors and hands know
// their heads anew at once. A cue that is gone goes on, effects and all, until
// something else is shown.
func (e *Engine) Reload(r *Reload, pos clock.Position) bool {
	if r.old != e.prog {
		return false
	}
	if !e.held { // the light below the floors, which have their own way
		e.look()
		e.effects(pos)
		e.cross(pos)
	}
	r.carry(&e.memory, pos)
	e.memory, e.prog, e.lit = r.memory, r.prog, r.lit
	if c := e.shown.of(e.prog); c != nil && !c.SendsOnly { // one that only sends has left the light as it was
		e.show(c)
	} else if e.cue != nil {
		e.linger(r)
	}
	if e.held {
		copy(e.light, r.was)
	} else {
		e.part(r.was, pos)
	}
	e.copied = true // nothing is sent here: what was let through stays as it is
	e.layers(pos)
	e.copied = false
	return true
}

// carry takes over the whole memory of the old program, after the frame at pos:
// state by names, light and the limiter's counts by heads and groups. The palette
// of looks is the new program's from the start.
func (r *Reload) carry(from *memory, pos clock.Position) {
	m := &r.memory
	m.State = r.carryState(from.State, pos)
	m.cue, m.waves, m.palette, m.meter = from.cue, from.waves, from.palette, from.meter
	for h, to := range r.heads {
		m.kept[to], m.still[to], m.from[to] = from.kept[h], from.still[h], from.from[h]
		m.under[to] = from.under[h]
		r.was[to] = from.light[h]
	}
	m.limit.carry(&from.limit, r.heads, r.groups)
}

// linger keeps the cue in force though the program lacks it.
func (e *Engine) linger(r *Reload) {
	if e.waves == nil {
		e.waves = r.waves
	}
	for i := range e.waves {
		for n, h := range e.waves[i].Heads {
			e.waves[i].Heads[n] = r.heads[h]
		}
	}
}

// part notes how far the light is from what was lit, to be bridged.
func (e *Engine) part(was []fixtures.State, pos clock.Position) {
	e.look()
	e.effects(pos)
	e.cross(pos)
	differs := false
	for h := range e.light {
		for q := range e.light[h] {
			d := was[h][q] - e.light[h][q]
			e.gap[h][q] = d
			differs = differs || d != 0
		}
	}
	if differs {
		e.apart = slide{from: 1, start: pos.At, over: e.prog.Ease}
	}
}

// bridge adds what is left of the way from the light before a revision.
func (e *Engine) bridge(now clock.Time) {
	x := e.apart.at(now)
	if x == 0 {
		return
	}
	for h := range e.light {
		for q := range e.light[h] {
			low := 0.0
			if p := fixtures.Param(q); p == fixtures.Pan || p == fixtures.Tilt {
				low = -1
			}
			v := &e.light[h][q]
			*v = max(low, min(1, *v+float64(e.gap[h][q]*x)))
		}
	}
}
