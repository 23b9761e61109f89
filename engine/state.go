package engine

import "tactus/clock"

// State is where a show stands: equal programs and equal States go on to equal
// States from equal events. It is a value without pointers, so that it can be
// copied, compared and kept. The light of a frame depends on more: the light that
// a fade comes from, that kept heads were left in, and what the flash limiter has
// let through. All of that, with the State in it, is the engine's memory.
type State struct {
	play    playback
	masters masters
	hands   hands // operator overrides
	feel    feel
	shown   shown
	fade    fade // intensity, haze
	tint    fade // colour
	held    bool
	work    slide  // work light
	guard   slide  // how far the floors hold, or have let go
	unknown uint64 // commands that named something the show lacks
	lost    uint64 // things in use that a revision of the show lacks

	anchor clock.Beat // where on the transport the effects' beat 0 lies
	floor  clock.Beat // effects do not stand before this beat of theirs

	// Counted up for the view: another cue is in force, song or look was left,
	// a fade begins from where the light is, floors begin to hold or to let go.
	turns, leaves, fades, guards uint32

	entries     uint32 // of playback, that were looked at
	begun, sent uint32 // cues that began, and of them those that have sent
	sends       bool   // the cue in force sends with this frame
}

// shown is the cue in force: of a song, or a look of its own. It stays while a
// song that was chosen has not begun.
type shown struct {
	song int32 // None: a look
	list cueList
	cue  int32 // in the list; of Program.Looks without a song; None: nothing yet
}

// An Event is a command at a position, or without one (Kind 0) the passing of
// music and time up to there.
type Event struct {
	Command Command
	Pos     clock.Position
}

// StartState returns the state before the first event: the walk-in look.
func (p *Program) StartState() State {
	s := State{
		play: playback{
			song: None, cue: None, place: -1, section: None, floor: noFloor,
			armed: armed{section: None, song: None},
		},
		floor:   noFloor,
		masters: fullMasters(),
		shown:   shown{song: None, cue: None},
	}
	if p.WalkIn != None {
		s.shown.cue = p.WalkIn
		s.begun++
	}
	return s
}

// NextState returns the state after an event. It is a pure function: whatever comes,
// in whatever order, it does not panic, and what the show lacks is counted and
// changes nothing.
func (p *Program) NextState(s State, e Event) State {
	s.next(p, &e)
	return s
}

// next is Next in place, for the frame's sake: a State has some kilobytes.
func (s *State) next(p *Program, e *Event) {
	s.follow(p, e.Pos)
	if e.Command.Kind != 0 {
		s.do(p, &e.Command, e.Pos)
	} else {
		s.pick(p, e.Pos)
		s.sending()
	}
	goal := 0.0
	if s.spoken(p) {
		goal = 1
	}
	if s.guard.goal != goal {
		s.guard = slide{from: 1 - goal, goal: goal, start: e.Pos.At, over: p.Ease}
		s.guards++
	}
}

// follow keeps playback and running fades in step with the transport.
func (s *State) follow(p *Program, pos clock.Position) {
	t := &s.play
	jumped := pos.Jumps != t.jumps
	if t.follow(pos, p.RunsOn) {
		s.fade.rejoin(pos)
		s.tint.rejoin(pos)
	}
	if jumped {
		s.feel.settle(0)
		if t.song == None {
			s.anchor, s.floor = t.origin, noFloor // a look's effects start with the transport
		}
	}
	s.hands.expire(pos.At, p.Ease)
}

// pick enters what is due and finds the cue in force.
func (s *State) pick(p *Program, pos clock.Position) {
	t := &s.play
	if t.armed.song != None && pos.Playing && pos.Beat >= t.armed.at {
		s.choose(p, t.armed.song, pos, t.armed.at)
	}
	if t.song == None {
		return
	}
	song := &p.Songs[t.song]
	t.fire(song, pos)
	t.loop(song, pos)
	if pos.Playing {
		t.live = true
	}
	if !t.live {
		return
	}
	here := t.at(pos)
	if t.stay > 0 && here < t.stay {
		return // the section that was played is gone from the plan
	}
	t.stay = 0
	t.count(song.sectionAt(here))
	list, cue := t.cueFor(song, here)
	if cue == None {
		return // the light before the song stays, effects and all
	}
	if t.origin != s.anchor-t.skewed(p.EffectsStop) || s.floor != t.floor {
		s.feel.settle(max(t.floor, 0))
	}
	s.anchor, s.floor = t.origin+t.skewed(p.EffectsStop), t.floor
	now := shown{song: t.song, list: list, cue: cue}
	c := &song.list(list)[cue]
	landed := t.entries != s.entries
	s.entries = t.entries
	if t.cue == cue && s.shown == now {
		if s.lands(c, landed, t.heard(pos)) {
			s.begun++
		}
		return
	}
	if s.asLit(song, now) {
		t.cue, s.shown = cue, now
		s.begun++
		return
	}
	t.cue = cue
	from := song.list(list)[litBy(song.list(list), cue)].At
	// A section that was entered with an earlier cue in force fades to it from
	// the entry on.
	s.take(p, now, c, pos, max(0, here-max(from, t.floor)))
}

// take puts a cue in force, late beats after its place.
func (s *State) take(p *Program, now shown, c *Cue, pos clock.Position, late clock.Beat) {
	s.shown = now
	s.turns++
	s.begun++
	from := s.play.at(pos) - late
	s.fade.begin(c.Fade, now.length(p, from, c.Fade.Length), pos, late)
	s.tint = s.fade
	if c.ColourFade != nil {
		s.tint.begin(*c.ColourFade, now.length(p, from, c.ColourFade.Length), pos, late)
	}
}

// length returns how long a length is that begins at a place of the song; looks
// of their own count in 4/4.
func (n shown) length(p *Program, from clock.Beat, l Length) clock.Beat {
	if n.song == None {
		return l.In(common)
	}
	return p.Songs[n.song].PlaceAfter(from, l) - from
}

// stretchAt returns the bars around a place, counted from where the song's first
// downbeat lies.
func (n shown) stretchAt(p *Program, at clock.Beat) stretch {
	if n.song == None {
		return stretch{end: noMark, meter: common}
	}
	return p.Songs[n.song].stretchAt(0, at)
}

// of returns the cue in force, or nil.
func (n shown) of(p *Program) *Cue {
	switch {
	case n.cue == None:
		return nil
	case n.song == None:
		return &p.Looks[n.cue]
	}
	return &p.Songs[n.song].list(n.list)[n.cue]
}
