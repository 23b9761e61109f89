package engine

import (
	"tactus/clock"
	"tactus/fixtures"
)

// Layer is a stage in making the light of a frame. Layers are rendered in the order
// of their numbers, which is the order of precedence (doc.go). Nothing else writes
// to what is encoded.
type Layer uint8

// The layers, from the lowest.
const (
	LookLayer     Layer = iota // the cue's static light; kept groups as they were
	EffectLayer                // waves over it
	BuildLayer                 // levels that grow or ebb over a section
	FadeLayer                  // the cue's fade from the light before
	FloorLayer                 // minimum levels while someone speaks
	HazeLayer                  // the hazers' cycle
	HoldLayer                  // while held, the layers before this one stay as they were
	OverrideLayer              // overrides of an operator, house lights
	InputLayer                 // levels that come in, such as the faders of a house desk
	MasterLayer                // group masters, then the grand master
	BlackoutLayer              // all heads but the spared ones go dark
	WorkLayer                  // work light, over everything
	FlashLayer                 // light that would flash too often is held back, whatever its layer
	NumLayers
)

var layerNames = [NumLayers]string{
	"look", "effect", "build", "fade", "floor", "haze cycle", "hold", "override", "input", "master", "blackout", "work light",
	"flash limiter",
}

// String names the layer.
func (l Layer) String() string { return nameOf(layerNames[:], int(l)) }

func (e *Engine) renderLayers(pos clock.Position) {
	for l := range NumLayers {
		e.renderLayer(l, pos)
	}
}

func (e *Engine) renderLayer(l Layer, pos clock.Position) {
	if e.held && l < HoldLayer {
		return
	}
	switch l {
	case LookLayer:
		copy(e.showLight, e.settledLight)
	case EffectLayer:
		e.renderEffects(pos)
	case BuildLayer:
		e.renderBuild(pos)
	case FadeLayer:
		e.renderFade(pos)
	case FloorLayer:
		e.renderFloors(pos.At)
	case HazeLayer:
		e.prog.pauseHaze(e.showLight, pos)
	case HoldLayer:
		copy(e.sentLight, e.showLight)
	case OverrideLayer:
		e.overrides.apply(e.sentLight, e.prog, pos.At)
	case InputLayer:
		e.renderFaders(pos.At)
	case MasterLayer:
		e.masters.apply(e.sentLight, e.prog, pos.At)
	case BlackoutLayer:
		if e.masters.blackout {
			scale(e.sentLight, e.prog.Heads, 0)
		}
	case WorkLayer:
		e.renderWorkLight(pos.At)
	case FlashLayer:
		e.limitFlashes(pos.At)
	}
}

func (e *Engine) renderEffects(pos clock.Position) {
	if e.cue == nil {
		return
	}
	at, roles := e.wavesAt(pos), e.roleColours()
	for _, i := range e.cue.Effects {
		f := &e.cueEffects()[i]
		f.apply(e.showLight, at.of(f.Period), at.meter, &roles, at.depth)
	}
}

// cueEffects returns the list that the present cue's effects are indexes into.
func (e *Engine) cueEffects() []Effect {
	if e.lostEffects != nil {
		return e.lostEffects
	}
	return e.prog.Effects
}

// renderFade fades from the light before the cue, colour in its own time, and adds
// what is left of the difference that a reload made.
func (e *Engine) renderFade(pos clock.Position) {
	if e.fade.active || e.colourFade.active {
		x, y := e.fade.progress(pos), e.colourFade.progress(pos)
		var kept fixtures.MixTable // heads in step, and those without effects, fade alike
		for h := range e.showLight {
			s, to := e.fadeFrom[h], &e.showLight[h]
			s.MixAlong(to, x, y, &e.fadeWays[h], &kept)
			*to = s
		}
	}
	e.renderReloadFade(pos.At)
}

// renderFloors keeps heads at their minimum level while someone speaks. A head that
// is lower fades up to it over Program.Ease, and back afterwards.
func (e *Engine) renderFloors(now clock.Time) {
	x := e.floorFade.levelAt(now)
	if x == 0 && e.floorFade.goal == 0 {
		return
	}
	for i := range e.prog.Floors {
		f := &e.prog.Floors[i]
		for _, h := range f.Heads {
			level := min(f.Level, e.lightBelowFloor[h])
			if e.floorFade.goal == 0 {
				level *= x
			} else {
				level += float64((f.Level - level) * x)
			}
			v := &e.showLight[h][fixtures.Intensity]
			*v = max(*v, level)
		}
	}
}

// hasSpeech reports whether someone speaks: in a section marked so, or during the
// talk look.
func (s *State) hasSpeech(p *Program) bool {
	if s.shown.song == None {
		return s.shown.cue != None && s.shown.cue == p.Talk
	}
	k := s.play.section
	return s.play.song != None && k != None && p.Songs[s.play.song].Sections[k].Spoken
}

// pauseHaze stops the haze in the pauses of its cycle; fans go on.
func (p *Program) pauseHaze(light []fixtures.State, pos clock.Position) {
	if p.Haze.isOn(pos.At) {
		return
	}
	for h := range light {
		light[h][fixtures.Haze] = 0
	}
}

func (e *Engine) renderWorkLight(now clock.Time) {
	x := e.workFade.levelAt(now)
	if x == 0 {
		return
	}
	for h := range e.sentLight {
		if e.prog.Heads[h].Work || e.prog.Heads[h].House {
			v := &e.sentLight[h][fixtures.Intensity]
			*v = max(*v, x)
		}
	}
}
