package engine

import (
	"tactus/clock"
	"tactus/fixtures"
	"tactus/protocol/dmx"
)

// Engine plays a Program. One goroutine owns it; others send that goroutine
// Commands or read a Snapshot.
type Engine struct {
	prog    *Program
	play    playback
	masters masters
	fade    fade
	held    bool
	unknown uint64 // commands that named something the show lacks

	cue     *Cue     // in force, of the song or a look; nil at first
	house   *Palette // of looks outside songs
	palette *Palette
	meter   Meter
	anchor  clock.Beat // where on the transport the effects' beat 0 lies
	floor   clock.Beat // effects do not stand before this beat of theirs

	// One state a head:
	kept  []fixtures.State // what kept heads show unless a cue names them
	still []fixtures.State // the cue in force, settled and without effects
	from  []fixtures.State // the light when the fade began
	light []fixtures.State // the light before the masters
	lit   []fixtures.State // the light as encoded
	out   []dmx.Universe
}

// plain is the palette of a show without one, common the meter outside songs.
var (
	plain  = Palette{{1, 1, 1}, {1, 1, 1}, {1, 1, 1}, {1, 1, 1}}
	common = Meter{4, 4}
)

// New prepares to play a program and shows its walk-in look. Everything that
// the frames need is made here.
func New(p *Program) *Engine {
	n := len(p.Heads)
	e := &Engine{
		prog:    p,
		play:    playback{song: None, cue: None, place: -1, floor: noFloor, armed: armed{section: None}},
		floor:   noFloor,
		masters: masters{from: 1, to: 1},
		palette: &plain,
		meter:   common,
		kept:    make([]fixtures.State, n),
		still:   make([]fixtures.State, n),
		from:    make([]fixtures.State, n),
		light:   make([]fixtures.State, n),
		lit:     make([]fixtures.State, n),
		out:     make([]dmx.Universe, p.Patch.Universes()),
	}
	if p.House != (Palette{}) {
		e.palette = &p.House
	}
	e.house = e.palette
	if p.WalkIn != None {
		e.show(&p.Looks[p.WalkIn])
	}
	e.render(clock.Position{}) // a light to hold or to fade from before the first frame
	return e
}

// Program returns what is being played.
func (e *Engine) Program() *Program { return e.prog }

// Tempo returns the tempo of the song that is selected, or 0 without one.
func (e *Engine) Tempo() clock.Tempo {
	if e.play.song == None {
		return 0
	}
	return e.prog.Songs[e.play.song].Tempo
}

// Frame returns the light at a position. The universes are the engine's own
// and change with the next call.
func (e *Engine) Frame(pos clock.Position) []dmx.Universe {
	e.follow(pos)
	e.pick(pos)
	if !e.held {
		e.render(pos)
	}
	e.masters.apply(e.lit, e.light, e.prog.Heads, pos.At)
	e.prog.Patch.Encode(e.out, e.lit)
	return e.out
}

// follow keeps playback and a running fade in step with the transport.
func (e *Engine) follow(pos clock.Position) {
	p := &e.play
	jumped := pos.Jumps != p.jumps
	if p.follow(pos, e.prog.RunsOn) && e.fade.active {
		e.fade.rejoin(pos)
	}
	if jumped && p.song == None {
		e.anchor, e.floor = p.origin, noFloor // a look's effects start with the transport
	}
}

// pick enters an armed section when due and finds the cue in force.
func (e *Engine) pick(pos clock.Position) {
	p := &e.play
	if p.song == None {
		return
	}
	song := &e.prog.Songs[p.song]
	p.fire(song, pos)
	if pos.Playing {
		p.live = true
	}
	if !p.live {
		return
	}
	here := p.at(pos)
	cue := song.cueAt(here)
	if cue == None {
		return // the light before the song stays, effects and all
	}
	e.anchor, e.floor = p.origin, p.floor
	if !e.prog.Settle {
		e.anchor += p.skew
	}
	if cue == p.cue {
		return
	}
	p.cue = cue
	e.palette, e.meter = &song.Palette, song.Meter
	// A section that was entered with an earlier cue in force fades to it from
	// the entry on.
	e.take(&song.Cues[cue], pos, here-max(song.Cues[cue].At, p.floor))
}

// take puts a cue in force, late beats after its place.
func (e *Engine) take(c *Cue, pos clock.Position, late clock.Beat) {
	copy(e.from, e.light)
	e.show(c)
	e.fade.begin(c.Fade, e.meter, pos, late)
}

// show renders a cue's settled light: kept heads as they were unless it names
// them, all others dark unless it names them.
func (e *Engine) show(c *Cue) {
	e.cue = c
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
			if part.Tinted {
				s.SetColour(colour)
			}
		}
	}
}

// keep remembers how the kept heads stand, for the song or look that follows.
func (e *Engine) keep() { copy(e.kept, e.still) }

// render lays the effects over the settled light and fades towards it.
func (e *Engine) render(pos clock.Position) {
	copy(e.light, e.still)
	if e.cue == nil {
		return
	}
	beat := pos.Pulse
	if e.prog.Settle {
		beat = pos.Beat
	}
	beat = max(beat-e.anchor, e.floor)
	for _, i := range e.cue.Effects {
		e.prog.Effects[i].apply(e.light, beat, e.meter, e.palette)
	}
	if !e.fade.active {
		return
	}
	x := e.fade.at(pos)
	for h := range e.light {
		s := e.from[h]
		s.Mix(&e.light[h], x)
		e.light[h] = s
	}
}
