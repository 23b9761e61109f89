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
		e.renderLook()
		e.renderEffects(pos)
		e.renderFade(pos)
	}
	r.carryOver(&e.memory, pos)
	e.memory, e.prog, e.sentLight = r.memory, r.prog, r.sentLight
	if c := e.shown.cueIn(e.prog); c != nil && !c.SendsOnly { // one that only sends has left the light as it was
		e.settleCue(c)
	} else if e.cue != nil {
		e.keepLostCue(r)
	}
	if e.held {
		copy(e.showLight, r.oldLight)
	} else {
		e.startReloadFade(r.oldLight, pos)
	}
	e.isCopy = true // nothing is sent here: what was let through stays as it is
	e.renderLayers(pos)
	e.isCopy = false
	return true
}

// carryOver takes over the whole memory of the old program, after the frame at pos:
// state by names, light and the limiter's counts by heads and groups. The palette
// of looks is the new program's from the start.
func (r *Reload) carryOver(from *memory, pos clock.Position) {
	m := &r.memory
	m.State = r.carryState(from.State, pos)
	m.cue, m.lostEffects, m.palette, m.meter = from.cue, from.lostEffects, from.palette, from.meter
	for h, to := range r.heads {
		m.keptLight[to], m.settledLight[to], m.fadeFrom[to] = from.keptLight[h], from.settledLight[h], from.fadeFrom[h]
		m.lightBelowFloor[to] = from.lightBelowFloor[h]
		r.oldLight[to] = from.showLight[h]
	}
	m.limiter.carryOver(&from.limiter, r.heads, r.groups)
}

// keepLostCue keeps the cue in force though the program lacks it.
func (e *Engine) keepLostCue(r *Reload) {
	if e.lostEffects == nil {
		e.lostEffects = r.oldEffects
	}
	for i := range e.lostEffects {
		for n, h := range e.lostEffects[i].Heads {
			e.lostEffects[i].Heads[n] = r.heads[h]
		}
	}
}

// startReloadFade notes how far the light is from what was lit, to be bridged.
func (e *Engine) startReloadFade(was []fixtures.State, pos clock.Position) {
	e.renderLook()
	e.renderEffects(pos)
	e.renderFade(pos)
	differs := false
	for h := range e.showLight {
		for q := range e.showLight[h] {
			d := was[h][q] - e.showLight[h][q]
			e.reloadGap[h][q] = d
			differs = differs || d != 0
		}
	}
	if differs {
		e.reloadFade = slide{from: 1, start: pos.At, over: e.prog.Ease}
	}
}

// renderReloadFade adds what is left of the way from the light before a revision.
func (e *Engine) renderReloadFade(now clock.Time) {
	x := e.reloadFade.levelAt(now)
	if x == 0 {
		return
	}
	for h := range e.showLight {
		for q := range e.showLight[h] {
			low := 0.0
			if p := fixtures.Param(q); p == fixtures.Pan || p == fixtures.Tilt {
				low = -1
			}
			v := &e.showLight[h][q]
			*v = max(low, min(1, *v+float64(e.reloadGap[h][q]*x)))
		}
	}
}
