package engine

import (
	"tactus/clock"
	"tactus/fixtures"
)

// renderLook lays out the settled light of the cue in force. Kept heads are in it as
// they were left unless the cue names them.
func (e *Engine) renderLook() { copy(e.showLight, e.settledLight) }

// renderEffects lays the waves of the cue in force over the look.
func (e *Engine) renderEffects(pos clock.Position) {
	if e.cue == nil {
		return
	}
	place := e.effectsPlace(e.prog, pos)
	beat := e.feel.effectBeat(place)
	m, bar := e.meter, beat
	if n := e.shown.song; n != None && len(e.prog.Songs[n].Meters) > 0 {
		song := &e.prog.Songs[n]
		m = song.MeterAt(place)
		beat, bar = e.feel.countedBeat(song, place, m, false), e.feel.countedBeat(song, place, m, true)
	}
	for _, i := range e.cue.Effects {
		f := &e.cueEffects()[i]
		at := beat
		if f.Period.Bars {
			at = bar
		}
		f.apply(e.showLight, at, m, e.palette)
	}
}

// cueEffects returns what the cue in force means by its effects.
func (e *Engine) cueEffects() []Effect {
	if e.lostEffects != nil {
		return e.lostEffects
	}
	return e.prog.Effects
}

// renderFade fades from where the light was: colour in its own time. What is left of
// the way to a program that has been revised comes on top.
func (e *Engine) renderFade(pos clock.Position) {
	if e.fade.active || e.colourFade.active {
		e.mixFade(pos)
	}
	e.renderReloadFade(pos.At)
}

func (e *Engine) mixFade(pos clock.Position) {
	x, y := e.fade.progress(pos), e.colourFade.progress(pos)
	for h := range e.showLight {
		s := e.fadeFrom[h]
		s.Mix(&e.showLight[h], x)
		if y != x {
			from, to := e.fadeFrom[h].Colour(), e.showLight[h].Colour()
			s.SetColour(from.Mix(to, y))
		}
		e.showLight[h] = s
	}
}

// renderFloors keeps heads from going under their floor while someone speaks. A head
// that is above it does not dip below; one that is below is brought up gently,
// and let go as gently.
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

// hasSpeech reports whether someone speaks: in a section that is marked, or under
// the talk look.
func (s *State) hasSpeech(p *Program) bool {
	if s.shown.song == None {
		return s.shown.cue != None && s.shown.cue == p.Talk
	}
	k := s.play.section
	return s.play.song != None && k != None && p.Songs[s.play.song].Sections[k].Spoken
}

// pauseHaze takes the haze away in the pauses of its cycle; fans go on.
func (p *Program) pauseHaze(light []fixtures.State, pos clock.Position) {
	if p.Haze.on(pos.At) {
		return
	}
	for h := range light {
		light[h][fixtures.Haze] = 0
	}
}

// renderWorkLight brings up the heads of the work light, over everything.
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
