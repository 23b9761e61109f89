package engine

import (
	"tactus/clock"
	"tactus/fixtures"
	"tactus/protocol/dmx"
)

// Engine plays a Program. One goroutine owns it; others send that goroutine
// Commands or read a Snapshot.
type Engine struct {
	memory            // all that the next frame depends on
	prog     *Program // read-only; Reload replaces it
	identity identity // of prog, for checkpoints

	// The last frame:
	sentLight []fixtures.State // by head, as encoded
	universes []dmx.Universe

	// fadeWays are the ways of the heads' colours in the present fade, kept because most
	// stay the same from frame to frame. No frame depends on what is kept.
	fadeWays []fixtures.Arc

	// isCopy is set in a View, and during a reload: no frame is sent, so that the
	// flash limiter counts nothing and shows what it let through last.
	isCopy bool
}

// plain is the palette of a show without one; common is the meter outside songs.
var (
	plain  = Palette{{1, 1, 1}, {1, 1, 1}, {1, 1, 1}, {1, 1, 1}}
	common = Meter{4, 4}
)

// New prepares to play a program and shows its walk-in look. It allocates all that
// frames need.
func New(p *Program) *Engine {
	e := &Engine{
		memory: newMemory(p), prog: p, identity: identityOf(p),
		sentLight: make([]fixtures.State, len(p.Heads)), universes: make([]dmx.Universe, p.Patch.Universes()),
		fadeWays: make([]fixtures.Arc, len(p.Heads)),
	}
	if c := e.shown.cueIn(p); c != nil {
		e.settleCue(c)
	}
	e.renderLayers(clock.Position{}) // a light to hold or to fade from before the first frame
	return e
}

// Program returns the program that is played.
func (e *Engine) Program() *Program { return e.prog }

// Do applies a command at a position. A command that names something the show
// lacks is counted in Status.Unknown and changes nothing.
func (e *Engine) Do(c Command, pos clock.Position) {
	if c.Kind == 0 {
		e.unknownCommands++
		return
	}
	e.apply(Event{Command: c, Pos: pos})
}

// Frame returns the light at a position. The engine owns the universes; the next
// call changes them.
func (e *Engine) Frame(pos clock.Position) []dmx.Universe {
	e.apply(Event{Pos: pos})
	e.renderLayers(pos)
	e.prog.Patch.Encode(e.universes, e.sentLight)
	return e.universes
}

// SentLight returns the state of each head in the last frame, as encoded. The
// engine owns it; the next Frame changes it.
func (e *Engine) SentLight() []fixtures.State { return e.sentLight }

// apply advances the state by an event, and stores the light that fades, floors and
// kept heads start from.
func (e *Engine) apply(ev Event) {
	cues, exits, fades, floors := e.cueChanges, e.songExits, e.fadeStarts, e.floorChanges
	e.advance(e.prog, &ev)
	if e.songExits != exits {
		copy(e.keptLight, e.settledLight)
	}
	if e.fadeStarts != fades || e.cueChanges != cues {
		copy(e.fadeFrom, e.showLight)
		e.reloadFade = slide{}
	}
	if e.floorChanges != floors {
		for h := range e.showLight {
			e.lightBelowFloor[h] = e.showLight[h][fixtures.Intensity]
		}
	}
	if e.cueChanges != cues {
		e.settleCue(e.shown.cueIn(e.prog))
		e.returnFaders(ev.Pos.At)
	}
}

// settleCue makes c the present cue and works out its light without fade and
// effects. Heads that it does not name are dark, or as they were if they are kept.
func (e *Engine) settleCue(c *Cue) {
	e.cue, e.lostEffects = c, nil
	e.palette, e.deep, e.meter = e.lookPalette, e.prog.HouseDeep, common
	if e.shown.song != None {
		song := &e.prog.Songs[e.shown.song]
		e.palette, e.deep, e.meter = &song.Palette, song.Deep, song.Meter
	}
	for h := range e.settledLight {
		if e.prog.Heads[h].Keep {
			e.settledLight[h] = e.keptLight[h]
		} else {
			e.settledLight[h] = fixtures.State{}
		}
	}
	roles := e.roleColours()
	for i := range c.Parts {
		part := &c.Parts[i]
		for _, h := range part.Heads {
			s := &e.settledLight[h]
			for q := range fixtures.NumParams {
				if part.Sets(q) {
					s[q] = part.Values[q]
				}
			}
			if part.SetsColour {
				s.SetColour(roles.of(part.Colour, h))
			}
		}
	}
}
