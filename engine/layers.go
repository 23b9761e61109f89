package engine

import (
	"tactus/clock"
	"tactus/fixtures"
)

// look lays out the settled light of the cue in force. Kept heads are in it as
// they were left unless the cue names them.
func (e *Engine) look() { copy(e.light, e.still) }

// effects lays the waves of the cue in force over the look.
func (e *Engine) effects(pos clock.Position) {
	if e.cue == nil {
		return
	}
	place := e.ride(e.prog, pos)
	beat := e.feel.of(place)
	m, bar := e.meter, beat
	if n := e.shown.song; n != None && len(e.prog.Songs[n].Meters) > 0 {
		song := &e.prog.Songs[n]
		m = song.MeterAt(place)
		beat, bar = e.feel.counted(song, place, m, false), e.feel.counted(song, place, m, true)
	}
	for _, i := range e.cue.Effects {
		f := &e.effectsOf()[i]
		at := beat
		if f.Period.Bars {
			at = bar
		}
		f.apply(e.light, at, m, e.palette)
	}
}

// effectsOf returns what the cue in force means by its effects.
func (e *Engine) effectsOf() []Effect {
	if e.waves != nil {
		return e.waves
	}
	return e.prog.Effects
}

// cross fades from where the light was: colour in its own time. What is left of
// the way to a program that has been revised comes on top.
func (e *Engine) cross(pos clock.Position) {
	if e.fade.active || e.tint.active {
		e.mix(pos)
	}
	e.bridge(pos.At)
}

func (e *Engine) mix(pos clock.Position) {
	x, y := e.fade.at(pos), e.tint.at(pos)
	for h := range e.light {
		s := e.from[h]
		s.Mix(&e.light[h], x)
		if y != x {
			from, to := e.from[h].Colour(), e.light[h].Colour()
			s.SetColour(from.Mix(to, y))
		}
		e.light[h] = s
	}
}

// floors keeps heads from going under their floor while someone speaks. A head
// that is above it does not dip below; one that is below is brought up gently,
// and let go as gently.
func (e *Engine) floors(now clock.Time) {
	x := e.guard.at(now)
	if x == 0 && e.guard.goal == 0 {
		return
	}
	for i := range e.prog.Floors {
		f := &e.prog.Floors[i]
		for _, h := range f.Heads {
			level := min(f.Level, e.under[h])
			if e.guard.goal == 0 {
				level *= x
			} else {
				level += float64((f.Level - level) * x)
			}
			v := &e.light[h][fixtures.Intensity]
			*v = max(*v, level)
		}
	}
}

// spoken reports whether someone speaks: in a section that is marked, or under
// the talk look.
func (s *State) spoken(p *Program) bool {
	if s.shown.song == None {
		return s.shown.cue != None && s.shown.cue == p.Talk
	}
	k := s.play.section
	return s.play.song != None && k != None && p.Songs[s.play.song].Sections[k].Spoken
}

// duty takes the haze away in the pauses of its cycle; fans go on.
func (p *Program) duty(light []fixtures.State, pos clock.Position) {
	if p.Haze.on(pos.At) {
		return
	}
	for h := range light {
		light[h][fixtures.Haze] = 0
	}
}

// workLight brings up the heads of the work light, over everything.
func (e *Engine) workLight(now clock.Time) {
	x := e.work.at(now)
	if x == 0 {
		return
	}
	for h := range e.lit {
		if e.prog.Heads[h].Work || e.prog.Heads[h].House {
			v := &e.lit[h][fixtures.Intensity]
			*v = max(*v, x)
		}
	}
}
