package engine

import (
	"cmp"

	"tactus/clock"
)

// do applies a command at a position. A command that names something the show
// lacks is counted and changes nothing.
func (s *State) do(p *Program, c *Command, pos clock.Position) {
	switch c.Kind {
	case SelectSong, NextSong, PreviousSong, SelectPlace, RestartSong:
		s.doSong(p, c, pos)
	case SelectByProgram:
		s.selectByProgram(p, c.Index, pos)
	case FireSection, ArmSection, FireNote, ArmNote, FireName, ArmName, NextSection, PreviousSection:
		s.doSection(p, c, pos)
	case Disarm:
		s.play.disarm()
		s.play.programSong = None
	case ShowLook, ShowWalkIn, ShowWalkOut, ShowTalk, ShowPad:
		s.doLook(p, c, pos)
	case Hold:
		s.held = true
	case Release:
		s.release(p, pos)
	case Blackout:
		s.masters.blackout = true
	case Restore:
		s.masters.blackout = false
	case GrandMaster, GroupMaster:
		s.doMaster(p, c, pos)
	case HouseUp, HouseHalf, HouseOut, HouseFree, Override, ReleaseOverride:
		s.doOverride(p, c, pos)
	case WorkLight:
		s.workFade.moveTo(1, p.Ease, pos.At)
	case WorkLightOff:
		s.workFade.moveTo(0, p.Ease, pos.At)
	case HalfTime, DoubleTime, StraightTime, Downbeat:
		s.doFeel(p, c.Kind, pos)
	case AlignBars:
		s.alignBars(p, c.Index, pos)
	default:
		s.unknownCommands++
	}
}

func (s *State) doSong(p *Program, c *Command, pos clock.Position) {
	t := &s.play
	place := t.setListIndex
	switch c.Kind {
	case SelectSong:
		s.selectSong(p, c.Index, pos)
		return
	case RestartSong:
		if t.song == None {
			s.unknownCommands++
			return
		}
		at, _ := t.earlyCommand(pos, 0)
		s.startSong(p, t.song, pos, at)
		return
	case NextSong:
		place++
	case PreviousSong:
		place--
	case SelectPlace:
		place = int(c.Index)
	}
	if place < 0 || place >= len(p.SetList) {
		s.unknownCommands++
		return
	}
	t.setListIndex = place
	s.startSongSoon(p, p.SetList[place], pos)
}

func (s *State) selectSong(p *Program, song int32, pos clock.Position) {
	if song < 0 || int(song) >= len(p.Songs) {
		s.unknownCommands++
		return
	}
	if s.play.selectAgain(song, p.RunsOn, pos) {
		return
	}
	s.findPlace(p, song)
	s.startSongSoon(p, song, pos)
}

// findPlace moves to the song in the set list: the nearest from the present place
// on, else from the top. A song outside the list leaves the place as it is.
func (s *State) findPlace(p *Program, song int32) {
	list := p.SetList
	from := max(s.play.setListIndex, 0)
	for i := range list {
		if at := (from + i) % len(list); list[at] == song {
			s.play.setListIndex = at
			return
		}
	}
}

// startSongSoon starts a song at once, or if the command is a little early for a
// boundary, there.
func (s *State) startSongSoon(p *Program, song int32, pos clock.Position) {
	if s.play.noteGrid == 0 {
		s.play.noteGrid = p.Songs[song].noteGrid()
	}
	at, early := s.play.earlyCommand(pos, p.Window)
	if early {
		s.play.programSong = None
		s.play.armed = armed{section: None, song: song, boundary: at, fromNote: true}
		return
	}
	s.startSong(p, song, pos, at)
}

// startSong starts a song with its first downbeat at a beat of the transport, or if
// that is stopped, where it starts next.
func (s *State) startSong(p *Program, song int32, pos clock.Position, at clock.Beat) {
	s.songExits++
	s.play.startSong(song, &p.Songs[song], pos, p.RunsOn, at)
}

// doSection fires or arms a section. While the transport is stopped no boundary
// comes, so that an armed section is entered at once.
func (s *State) doSection(p *Program, c *Command, pos clock.Position) {
	t := &s.play
	if c.Kind == FireNote && s.enterOtherSong(p, c.Index, pos) {
		return
	}
	if t.song == None {
		s.unknownCommands++
		return
	}
	song := &p.Songs[t.song]
	section, arm := c.Index, c.Kind == ArmSection || c.Kind == ArmNote || c.Kind == ArmName
	switch c.Kind {
	case FireNote, ArmNote:
		section = song.sectionByNote(c.Index)
	case FireName, ArmName:
		section = song.sectionCalled(c.Index)
	case NextSection, PreviousSection:
		section, arm = song.beside(t.songBeat(pos), c.Kind == NextSection), c.When != AtOnce
	}
	if section < 0 || int(section) >= len(song.Sections) || c.When >= numWhen {
		s.unknownCommands++
		return
	}
	byHand := c.Kind != FireNote && c.Kind != ArmNote
	if arm && pos.Playing {
		if byHand || !t.armed.byHand || t.armed.section == None {
			t.armSection(song, section, c.When, p.phrase(c.Bars), byHand, pos)
		}
		return
	}
	at, early := t.earlyCommand(pos, p.Window)
	soon := armed{section: section, song: None, boundary: at - t.origin, fromNote: true, byHand: byHand}
	switch {
	case byHand:
		t.disarm()
	case pos.Playing && t.handWins(at):
		return
	}
	switch {
	case t.confirmSection(song, section, byHand, pos):
	case early:
		t.armSoon(soon)
	default:
		t.enterNow(&song.Sections[section], pos)
	}
}

// beside returns the section after or before a place, or None.
func (s *Song) beside(at clock.Beat, next bool) int32 {
	here := s.sectionAt(at)
	switch {
	case here == None && at < 0 && next:
		return 0
	case here == None && at >= s.Length() && !next:
		return int32(len(s.Sections) - 1)
	case here == None:
		return None
	case next:
		return here + 1 // beyond the last there is none
	}
	return here - 1
}

// phrase returns how many bars a phrase has: those of a command, else those of the
// show, else 4.
func (p *Program) phrase(bars uint8) int64 { return int64(cmp.Or(bars, p.Phrase, 4)) }

func (s *State) doLook(p *Program, c *Command, pos clock.Position) {
	look := c.Index
	switch c.Kind {
	case ShowWalkIn:
		look = p.WalkIn
		s.play.setListIndex = -1
	case ShowWalkOut:
		look = p.WalkOut
	case ShowTalk:
		look = p.Talk
	case ShowPad:
		look = p.Pad
	}
	if look < 0 || int(look) >= len(p.Looks) {
		s.unknownCommands++
		return
	}
	s.songExits++
	s.play.song, s.play.cue = None, None
	s.play.programSong, s.play.left = None, leftSong{song: None}
	s.play.disarm()
	s.feel.restart(0)
	s.startCue(p, shownCue{song: None, cue: look}, &p.Looks[look], pos, 0)
}

// release fades from the held light to that of the show.
func (s *State) release(p *Program, pos clock.Position) {
	if !s.held {
		return
	}
	s.held = false
	s.fadeStarts++
	s.fade.begin(Span{Time: p.ReleaseFade}, 0, pos, 0)
	s.colourFade = s.fade
	if g := &s.floorFade; g.goal > 0 || g.levelAt(pos.At) > 0 { // from the held light too
		*g = slide{from: 1 - g.goal, goal: g.goal, start: pos.At, over: p.Ease}
		s.floorChanges++
	}
}

func (s *State) doMaster(p *Program, c *Command, pos clock.Position) {
	m := &s.masters.all
	if c.Kind == GroupMaster {
		if c.Index < 0 || int(c.Index) >= min(len(p.Groups), MaxGroups) {
			s.unknownCommands++
			return
		}
		m = &s.masters.groups[c.Index]
	}
	if c.Level != c.Level { // not a number
		s.unknownCommands++
		return
	}
	m.moveTo(c.Level, c.Over, pos.At)
}

// doFeel changes the rate of effects on the next beat, or moves the bars.
func (s *State) doFeel(p *Program, kind CommandKind, pos clock.Position) {
	place := s.effectsPlace(p, pos)
	bars := s.shown.barRunAt(p, place)
	beat := min(bars.start+(place-bars.start).CeilTo(bars.meter.Beat()), bars.end)
	switch kind {
	case HalfTime:
		s.feel.setRate(1, beat)
	case DoubleTime:
		s.feel.setRate(4, beat)
	case StraightTime:
		s.feel.setRate(2, beat)
	case Downbeat:
		s.setDownbeat(p, pos)
	}
}

// effectsPlace returns the effects' beat before half or double time.
func (s *State) effectsPlace(p *Program, pos clock.Position) clock.Beat {
	beat := pos.Pulse
	if p.EffectsStop {
		beat = pos.Beat
	}
	return max(beat-s.effectsOrigin, s.effectsEarliest)
}
