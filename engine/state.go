package engine

import "tactus/clock"

// State is the state of a show without its light: playback, fades, masters and overrides.
// It is a value without pointers, so that it can be copied, compared and stored.
// Equal programs and States give equal States after equal events. Frames depend on
// more: see memory.
type State struct {
	play            playback
	masters         masters
	overrides       overrides
	feel            feel
	shown           shownCue
	fade            fade // of all but colour
	colourFade      fade
	held            bool
	workFade        slide  // level of the work light
	floorFade       slide  // share to which the minimum levels (floors) act, 0..1
	unknownCommands uint64 // commands that named something the show lacks
	lost            uint64 // things in use that an edited show lacks
	programs        ProgramStatus

	effectsOrigin   clock.Beat // the transport's beat at the effects' beat 0
	effectsEarliest clock.Beat // the effects' beat is never before this one

	// Counters. A change tells Engine.apply that another cue is present, that a song or
	// look was left, that a fade begins, or that floors begin or stop to act.
	cueChanges, songExits, fadeStarts, floorChanges uint32

	entriesSeen         uint32 // value of playback.entries when last compared
	cuesBegun, cuesSent uint32 // cues that began; its value when messages were last sent
	sendsNow            bool   // the present cue's messages leave with this frame
}

// shownCue is the present cue: of a song, or a look outside songs. It stays while
// a chosen song has not begun.
type shownCue struct {
	song int32 // None: a look
	list cueList
	cue  int32 // in the list, or in Program.Looks; None before the first
}

// An Event is a command at a position. With a Kind of 0 it is only the passing of
// music and time up to that position.
type Event struct {
	Command Command
	Pos     clock.Position
}

// StartState returns the state before the first event: the walk-in look.
func (p *Program) StartState() State {
	s := State{
		play: playback{
			song: None, cue: None, setListIndex: -1, section: None, earliest: noEarliest,
			armed: armed{section: None, song: None}, soon: armed{section: None, song: None}, handEntry: noEarliest,
			programSong: None, left: leftSong{song: None},
		},
		programs: ProgramStatus{Song: None}, effectsEarliest: noEarliest, masters: fullMasters(), shown: shownCue{song: None, cue: p.WalkIn},
	}
	if p.WalkIn != None {
		s.cuesBegun++
	}
	return s
}

// advance changes the state by an event. It depends on nothing else and never panics.
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
		if t.song == None { // a look's effects start with the transport
			s.effectsOrigin, s.effectsEarliest = t.origin, noEarliest
		}
	}
	if t.programSong != None && (jumped || !pos.Playing) {
		s.moveToProgramSong(p, pos)
	}
	s.overrides.releaseExpired(pos.At, p.Ease)
}

// pickCue enters the song or section that is due and finds the present cue.
func (s *State) pickCue(p *Program, pos clock.Position) {
	t := &s.play
	if t.armed.song != None && pos.Playing && pos.Beat >= t.armed.boundary {
		s.startSong(p, t.armed.song, pos, t.armed.boundary)
	}
	if t.song == None {
		return
	}
	t.enterDue(&p.Songs[t.song], pos)
	if t.programSong != None && pos.Playing && t.songBeat(pos) >= t.end {
		s.startByProgram(p, pos, t.origin+t.end, leftSong{song: None})
	}
	song := &p.Songs[t.song]
	if pos.Playing {
		t.live = true
	}
	if !t.live {
		return
	}
	here := t.songBeat(pos)
	if t.keepLightUntil > 0 && here < t.keepLightUntil {
		return // beyond the song's end, or an edit removed the section that was played
	}
	t.keepLightUntil = 0
	t.countPass(song.sectionAt(here))
	list, cue := t.cueFor(song, here)
	if cue == None {
		return // the light and effects before the song stay
	}
	origin := t.origin
	if !p.EffectsStop {
		origin += t.pulseSkew
	}
	if s.effectsOrigin != origin || s.effectsEarliest != t.earliest {
		s.feel.restart(max(t.earliest, 0))
	}
	s.effectsOrigin, s.effectsEarliest = origin, t.earliest
	now := shownCue{song: t.song, list: list, cue: cue}
	c := &song.list(list)[cue]
	landed := t.entries != s.entriesSeen
	s.entriesSeen = t.entries
	if t.cue == cue && s.shown == now {
		if landed && max(t.heardBeat(pos)-t.origin, t.earliest) <= c.At {
			s.cuesBegun++ // the music went back to its place or before it
		}
		return
	}
	if s.keepsLight(song, now) {
		t.cue, s.shown = cue, now
		s.cuesBegun++
		return
	}
	t.cue = cue
	// In a section that begins with the cue before it, the fade counts from the
	// start of the section.
	from := song.list(list)[lightCue(song.list(list), cue)].At
	s.startCue(p, now, c, pos, max(0, here-max(from, t.earliest)))
}

// startCue makes a cue the present one, late beats after its place.
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

// fadeLength returns a length in beats from a place of the song on. Looks outside
// songs count in 4/4.
func (n shownCue) fadeLength(p *Program, from clock.Beat, l Length) clock.Beat {
	if n.song == None {
		return l.In(common)
	}
	return p.Songs[n.song].PlaceAfter(from, l) - from
}

// barRunAt returns the bars around a place, counted from the song's first downbeat.
func (n shownCue) barRunAt(p *Program, at clock.Beat) barRun {
	if n.song == None {
		return barRun{end: noMark, meter: common}
	}
	return p.Songs[n.song].barRunAt(0, at)
}

func (n shownCue) cueIn(p *Program) *Cue {
	switch {
	case n.cue == None:
		return nil
	case n.song == None:
		return &p.Looks[n.cue]
	}
	return &p.Songs[n.song].list(n.list)[n.cue]
}
