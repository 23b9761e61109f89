package engine

import (
	"tactus/clock"
	"tactus/fixtures"
	"tactus/protocol/dmx"
)

// Engine shows a Program: it keeps a memory and makes the light that it stands
// for. One goroutine owns it; others send that goroutine Commands or read a
// Snapshot.
type Engine struct {
	memory          // all that the next frame depends on
	prog   *Program // replaced as a whole by Reload; nobody writes to it

	// The last frame, for those who read it:
	sentLight []fixtures.State // one a head, as encoded
	universes []dmx.Universe

	// copied: no frame is made here, as in a View and while a show is revised, and
	// the flash limiter shows what it let through in the last one.
	isCopy bool
}

// plain is the palette of a show without one, common the meter outside songs.
var (
	plain  = Palette{{1, 1, 1}, {1, 1, 1}, {1, 1, 1}, {1, 1, 1}}
	common = Meter{4, 4}
)

// New prepares to play a program and shows its walk-in look. Everything that
// the frames need is made here.
func New(p *Program) *Engine {
	e := &Engine{
		memory: newMemory(p), prog: p,
		sentLight: make([]fixtures.State, len(p.Heads)), universes: make([]dmx.Universe, p.Patch.Universes()),
	}
	if c := e.shown.cueIn(p); c != nil {
		e.settleCue(c)
	}
	e.renderLayers(clock.Position{}) // a light to hold or to fade from before the first frame
	return e
}

// Program returns what is being played.
func (e *Engine) Program() *Program { return e.prog }

// Do applies a command at a position. What the show lacks is counted and
// changes nothing: the light stays.
func (e *Engine) Do(c Command, pos clock.Position) {
	if c.Kind == 0 {
		e.unknownCommands++
		return
	}
	e.apply(Event{Command: c, Pos: pos})
}

// Frame returns the light at a position. The universes are the engine's own
// and change with the next call.
func (e *Engine) Frame(pos clock.Position) []dmx.Universe {
	e.apply(Event{Pos: pos})
	e.renderLayers(pos)
	e.prog.Patch.Encode(e.universes, e.sentLight)
	return e.universes
}

// SentLight returns the state of each head in the last frame, as it was encoded. It is
// the engine's own and changes with the next call of Frame.
func (e *Engine) SentLight() []fixtures.State { return e.sentLight }

// apply takes an event and what it means for the view.
func (e *Engine) apply(ev Event) {
	turns, leaves, fades, guards := e.cueChanges, e.songExits, e.fadeStarts, e.floorChanges
	e.advance(e.prog, &ev)
	if e.songExits != leaves { // kept heads stand as they were for what follows
		copy(e.keptLight, e.settledLight)
	}
	if e.fadeStarts != fades || e.cueChanges != turns {
		copy(e.fadeFrom, e.showLight)
		e.reloadFade = slide{}
	}
	if e.floorChanges != guards {
		for h := range e.showLight {
			e.lightBelowFloor[h] = e.showLight[h][fixtures.Intensity]
		}
	}
	if e.cueChanges != turns {
		e.settleCue(e.shown.cueIn(e.prog))
	}
}

// settleCue renders a cue's settled light: kept heads as they were unless it names
// them, all others dark unless it names them.
func (e *Engine) settleCue(c *Cue) {
	e.cue, e.lostEffects = c, nil
	e.palette, e.meter = e.lookPalette, common
	if e.shown.song != None {
		song := &e.prog.Songs[e.shown.song]
		e.palette, e.meter = &song.Palette, song.Meter
	}
	for h := range e.settledLight {
		if e.prog.Heads[h].Keep {
			e.settledLight[h] = e.keptLight[h]
		} else {
			e.settledLight[h] = fixtures.State{}
		}
	}
	for i := range c.Parts {
		part := &c.Parts[i]
		colour := part.Colour.In(e.palette)
		for _, h := range part.Heads {
			s := &e.settledLight[h]
			for q := range fixtures.NumParams {
				if part.Sets(q) {
					s[q] = part.Values[q]
				}
			}
			if part.SetsColour {
				s.SetColour(colour)
			}
		}
	}
}
