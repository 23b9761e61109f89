package engine

import (
	"tactus/clock"
	"tactus/fixtures"
)

// layers makes the light of a frame, from the lowest layer to the highest. This
// is the order of precedence of the whole program; doc.go says it in words, and
// nothing else writes to what is encoded.
func (e *Engine) layers(pos clock.Position) {
	if !e.held {
		e.look()                  // 1 look
		e.effects(pos)            // 2 effects over it
		e.cross(pos)              // 3 the cue's fade, from wherever the light was
		e.floors(pos.At)          // 4 kept groups: what they were left at, their floors
		e.prog.duty(e.light, pos) //   and the hazers' own cycle
	}
	copy(e.lit, e.light)
	e.hands.apply(e.lit, e.prog, pos.At)   // 5 operator overrides
	e.masters.apply(e.lit, e.prog, pos.At) // 6 group masters, grand master
	e.masters.black(e.lit, e.prog)         // 7 blackout
	e.workLight(pos.At)                    // 8 work light
	// 9 the flash limiter belongs here: after all that lights, before encoding.
}

// look lays out the settled light of the cue in force. Kept heads are in it as
// they were left unless the cue names them.
func (e *Engine) look() { copy(e.light, e.still) }

// effects lays the waves of the cue in force over the look.
func (e *Engine) effects(pos clock.Position) {
	if e.cue == nil {
		return
	}
	beat := e.feel.of(e.ride(e.prog, pos))
	for _, i := range e.cue.Effects {
		e.prog.Effects[i].apply(e.light, beat, e.meter, e.palette)
	}
}

// cross fades from where the light was: colour in its own time.
func (e *Engine) cross(pos clock.Position) {
	if !e.fade.active && !e.tint.active {
		return
	}
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
