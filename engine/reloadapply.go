package engine

import (
	"tactus/clock"
	"tactus/fixtures"
)

// Reload goes on with an edited program, right after the frame at pos. It returns
// false, and changes nothing, if r was prepared for another program than the present
// one. It allocates nothing.
//
// The light does not jump: the difference between old and new light fades out over
// Program.Ease, or as FadeOver says. Without a difference all bytes stay equal. Masters,
// floors and overrides act on the new heads of their groups at once. A present cue that the
// new program lacks stays, with its effects, until another begins.
func (e *Engine) Reload(r *Reload, pos clock.Position) bool {
	if r.old != e.prog {
		return false
	}
	if !e.held { // without floors, which have a fade of their own
		e.renderBelowFloors(pos)
	}
	build, strength, _ := e.build(pos)
	own := e.cue == e.shown.cueIn(e.prog)      // its light shows
	before := e.cue == e.shown.lightIn(e.prog) // it only sends, and that of the cue before shows
	r.carryOver(&e.memory, pos)
	e.memory, e.prog, e.identity = r.memory, r.prog, r.identity
	e.sentLight, e.fadeWays = r.sentLight, r.fadeWays
	if r.universes != nil {
		e.universes = r.universes
	}
	switch c := e.shown.cueIn(e.prog); {
	case c != nil && (own || !c.SendsOnly):
		e.settleCue(c)
	case c != nil && before:
		e.settleCue(e.shown.lightIn(e.prog))
	case e.cue != nil && r.universes != nil: // its parts and effects name heads that may be gone; the light stays
		e.cue, e.lostEffects = nil, nil
	case e.cue != nil:
		e.keepLostCue(r, build, strength)
	}
	if e.held {
		copy(e.showLight, r.oldLight)
	} else {
		e.startReloadFade(r.oldLight, r.fade, pos)
	}
	e.isCopy = true // this frame is not sent, and the flash limiter does not count it
	e.renderLayers(pos)
	e.isCopy = false
	return true
}

// carryOver takes over the old memory after the frame at pos: state by names, light
// and the limiter's counts by heads and groups. Looks have the new palette.
func (r *Reload) carryOver(from *memory, pos clock.Position) {
	m := &r.memory
	m.State = r.carryState(from.State, pos)
	m.cue, m.lostEffects, m.meter = from.cue, from.lostEffects, from.meter
	m.palette, m.deep = from.palette, from.deep
	for h, to := range r.heads {
		if to == None {
			continue
		}
		m.keptLight[to], m.settledLight[to], m.fadeFrom[to] = from.keptLight[h], from.settledLight[h], from.fadeFrom[h]
		m.lightBelowFloor[to] = from.lightBelowFloor[h]
		r.oldLight[to] = from.showLight[h]
	}
	r.carryFaders(from)
	m.limiter.carryOver(&from.limiter, r.heads, r.groups)
}

// keepLostCue keeps the light of a cue that the new program lacks, with its effects. A
// build stands still.
func (e *Engine) keepLostCue(r *Reload, build *Build, strength float64) {
	if e.lostEffects == nil {
		e.lostEffects = r.oldEffects
	}
	for h, to := range r.heads {
		if build != nil {
			v := &e.settledLight[to][fixtures.Intensity]
			*v = float64(*v * build.level(h, strength))
		}
	}
	for i := range e.lostEffects {
		for n, h := range e.lostEffects[i].Heads {
			e.lostEffects[i].Heads[n] = r.heads[h]
		}
	}
}

func (e *Engine) renderBelowFloors(pos clock.Position) {
	for l := LookLayer; l < FloorLayer; l++ {
		e.renderLayer(l, pos)
	}
}

func (e *Engine) startReloadFade(old []fixtures.State, over clock.Time, pos clock.Position) {
	e.renderBelowFloors(pos)
	differs := false
	e.reloadTop = 1
	for h := range e.showLight {
		c := old[h].Colour()
		e.reloadTop = max(e.reloadTop, c[0], c[1], c[2])
		for q := range e.showLight[h] {
			d := old[h][q] - e.showLight[h][q]
			e.reloadGap[h][q] = d
			differs = differs || d != 0
		}
	}
	if differs {
		e.reloadFade = slide{from: 1, start: pos.At, over: over}
	}
}

// renderReloadFade adds what is left of the difference from the light before a
// reload.
func (e *Engine) renderReloadFade(now clock.Time) {
	x := e.reloadFade.levelAt(now)
	if x == 0 {
		return
	}
	for h := range e.showLight {
		for q := range e.showLight[h] {
			v := &e.showLight[h][q]
			low, high := 0.0, 1.0
			switch fixtures.Param(q) {
			case fixtures.Pan, fixtures.Tilt:
				low = -1
			case fixtures.Red, fixtures.Green, fixtures.Blue:
				high = max(e.reloadTop, *v)
			}
			*v = max(low, min(high, *v+float64(e.reloadGap[h][q]*x)))
		}
	}
}
