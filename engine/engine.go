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
	lit []fixtures.State // one a head, as encoded
	out []dmx.Universe

	// copied: no frame is made here, as in a View and while a show is revised, and
	// the flash limiter shows what it let through in the last one.
	copied bool
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
		lit: make([]fixtures.State, len(p.Heads)), out: make([]dmx.Universe, p.Patch.Universes()),
	}
	if c := e.shown.of(p); c != nil {
		e.show(c)
	}
	e.layers(clock.Position{}) // a light to hold or to fade from before the first frame
	return e
}

// Program returns what is being played.
func (e *Engine) Program() *Program { return e.prog }

// Do applies a command at a position. What the show lacks is counted and
// changes nothing: the light stays.
func (e *Engine) Do(c Command, pos clock.Position) {
	if c.Kind == 0 {
		e.unknown++
		return
	}
	e.step(Event{Command: c, Pos: pos})
}

// Frame returns the light at a position. The universes are the engine's own
// and change with the next call.
func (e *Engine) Frame(pos clock.Position) []dmx.Universe {
	e.step(Event{Pos: pos})
	e.layers(pos)
	e.prog.Patch.Encode(e.out, e.lit)
	return e.out
}

// SentLight returns the state of each head in the last frame, as it was encoded. It is
// the engine's own and changes with the next call of Frame.
func (e *Engine) SentLight() []fixtures.State { return e.lit }

// step takes an event and what it means for the view.
func (e *Engine) step(ev Event) {
	turns, leaves, fades, guards := e.turns, e.leaves, e.fades, e.guards
	e.next(e.prog, &ev)
	if e.leaves != leaves { // kept heads stand as they were for what follows
		copy(e.kept, e.still)
	}
	if e.fades != fades || e.turns != turns {
		copy(e.from, e.light)
		e.apart = slide{}
	}
	if e.guards != guards {
		for h := range e.light {
			e.under[h] = e.light[h][fixtures.Intensity]
		}
	}
	if e.turns != turns {
		e.show(e.shown.of(e.prog))
	}
}

// show renders a cue's settled light: kept heads as they were unless it names
// them, all others dark unless it names them.
func (e *Engine) show(c *Cue) {
	e.cue, e.waves = c, nil
	e.palette, e.meter = e.house, common
	if e.shown.song != None {
		song := &e.prog.Songs[e.shown.song]
		e.palette, e.meter = &song.Palette, song.Meter
	}
	for h := range e.still {
		if e.prog.Heads[h].Keep {
			e.still[h] = e.kept[h]
		} else {
			e.still[h] = fixtures.State{}
		}
	}
	for i := range c.Parts {
		part := &c.Parts[i]
		colour := part.Colour.In(e.palette)
		for _, h := range part.Heads {
			s := &e.still[h]
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
