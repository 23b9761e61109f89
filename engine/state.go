package engine

import "tactus/clock"

// State is where a show stands: equal programs and equal States go on to equal
// States from equal events. It is a value without pointers, so that it can be
// copied, compared and kept. The light of a frame depends on more: the light that
// a fade comes from, that kept heads were left in, and what the flash limiter has
// let through. All of that, with the State in it, is the engine's memory.
type State struct {
	play            playback
	masters         masters
	overrides       overrides // operator overrides
	feel            feel
	shown           shownCue
	fade            fade // intensity, haze
	colourFade      fade // colour
	held            bool
	workFade        slide  // work light
	floorFade       slide  // how far the floors hold, or have let go
	unknownCommands uint64 // commands that named something the show lacks
	lost            uint64 // things in use that a revision of the show lacks

	effectsOrigin   clock.Beat // where on the transport the effects' beat 0 lies
	effectsEarliest clock.Beat // effects do not stand before this beat of theirs

	// Counted up for the view: another cue is in force, song or look was left,
	// a fade begins from where the light is, floors begin to hold or to let go.
	cueChanges, songExits, fadeStarts, floorChanges uint32

	entriesSeen         uint32 // of playback, that were looked at
	cuesBegun, cuesSent uint32 // cues that began, and of them those that have sent
	sendsNow            bool   // the cue in force sends with this frame
}

// shownCue is the cue in force: of a song, or a look of its own. It stays while a
// song that was chosen has not begun.
type shownCue struct {
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
			song: None, cue: None, place: -1, section: None, earliest: noEarliest,
			armed: armed{section: None, song: None}, soon: armed{section: None, song: None}, handEntry: noEarliest,
		},
		effectsEarliest: noEarliest,
		masters:         fullMasters(),
		shown:           shownCue{song: None, cue: None},
	}
	if p.WalkIn != None {
		s.shown.cue = p.WalkIn
		s.cuesBegun++
	}
	return s
}

// NextState returns the state after an event. It is a pure function: whatever comes,
// in whatever order, it does not panic, and what the show lacks is counted and
// changes nothing.
func (p *Program) NextState(s State, e Event) State {
	s.advance(p, &e)
	return s
}

// advance is Next in place, for the frame's sake: a State has some kilobytes.
func (s *State) advance(p *Program, e *Event) {
	s.followTransport(p, e.Pos)
	if e.Command.Kind != 0 {
		s.do(p, &e.Command, e.Pos)
	} else {
		s.pickCue(p, e.Pos)
		s.updateSends()
	}
	goal := 0.0
	if s.hasSpeech(p) {
		goal = 1
	}
	if s.floorFade.goal != goal {
		s.floorFade = slide{from: 1 - goal, goal: goal, start: e.Pos.At, over: p.Ease}
		s.floorChanges++
	}
}

// followTransport keeps playback and running fades in step with the transport.
func (s *State) followTransport(p *Program, pos clock.Position) {
	t := &s.play
	jumped := pos.Jumps != t.jumps
	if t.followTransport(pos, p.RunsOn) {
		s.fade.rejoin(pos)
		s.colourFade.rejoin(pos)
	}
	if jumped {
		s.feel.restart(0)
		if t.song == None {
			s.effectsOrigin, s.effectsEarliest = t.origin, noEarliest // a look's effects start with the transport
		}
	}
	s.overrides.releaseExpired(pos.At, p.Ease)
}

// pickCue enters what is due and finds the cue in force.
func (s *State) pickCue(p *Program, pos clock.Position) {
	t := &s.play
	if t.armed.song != None && pos.Playing && pos.Beat >= t.armed.boundary {
		s.startSong(p, t.armed.song, pos, t.armed.boundary)
	}
	if t.song == None {
		return
	}
	song := &p.Songs[t.song]
	t.fireArmed(song, pos)
	t.loopSection(song, pos)
	if pos.Playing {
		t.live = true
	}
	if !t.live {
		return
	}
	here := t.songBeat(pos)
	if t.keepLightUntil > 0 && here < t.keepLightUntil {
		return // the section that was played is gone from the plan
	}
	t.keepLightUntil = 0
	t.countPass(song.sectionAt(here))
	list, cue := t.cueFor(song, here)
	if cue == None {
		return // the light before the song stays, effects and all
	}
	if t.origin != s.effectsOrigin-t.effectsSkew(p.EffectsStop) || s.effectsEarliest != t.earliest {
		s.feel.restart(max(t.earliest, 0))
	}
	s.effectsOrigin, s.effectsEarliest = t.origin+t.effectsSkew(p.EffectsStop), t.earliest
	now := shownCue{song: t.song, list: list, cue: cue}
	c := &song.list(list)[cue]
	landed := t.entries != s.entriesSeen
	s.entriesSeen = t.entries
	if t.cue == cue && s.shown == now {
		if s.restartsCue(c, landed, t.heardBeat(pos)) {
			s.cuesBegun++
		}
		return
	}
	if s.keepsLight(song, now) {
		t.cue, s.shown = cue, now
		s.cuesBegun++
		return
	}
	t.cue = cue
	from := song.list(list)[lightCue(song.list(list), cue)].At
	// A section that was entered with an earlier cue in force fades to it from
	// the entry on.
	s.startCue(p, now, c, pos, max(0, here-max(from, t.earliest)))
}

// startCue puts a cue in force, late beats after its place.
func (s *State) startCue(p *Program, now shownCue, c *Cue, pos clock.Position, late clock.Beat) {
	s.shown = now
	s.cueChanges++
	s.cuesBegun++
	from := s.play.songBeat(pos) - late
	s.fade.begin(c.Fade, now.fadeLength(p, from, c.Fade.Length), pos, late)
	s.colourFade = s.fade
	if c.ColourFade != nil {
		s.colourFade.begin(*c.ColourFade, now.fadeLength(p, from, c.ColourFade.Length), pos, late)
	}
}

// fadeLength returns how long a length is that begins at a place of the song; looks
// of their own count in 4/4.
func (n shownCue) fadeLength(p *Program, from clock.Beat, l Length) clock.Beat {
	if n.song == None {
		return l.In(common)
	}
	return p.Songs[n.song].PlaceAfter(from, l) - from
}

// barRunAt returns the bars around a place, counted from where the song's first
// downbeat lies.
func (n shownCue) barRunAt(p *Program, at clock.Beat) barRun {
	if n.song == None {
		return barRun{end: noMark, meter: common}
	}
	return p.Songs[n.song].barRunAt(0, at)
}

// cueIn returns the cue in force, or nil.
func (n shownCue) cueIn(p *Program) *Cue {
	switch {
	case n.cue == None:
		return nil
	case n.song == None:
		return &p.Looks[n.cue]
	}
	return &p.Songs[n.song].list(n.list)[n.cue]
}
