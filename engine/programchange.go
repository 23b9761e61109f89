package engine

import "tactus/clock"

// ProgramStatus says what program changes have done, for logs.
type ProgramStatus struct {
	Song   int32  // that the last program change named, or None
	Armed  uint64 // program changes that came while another song played, and waited
	Begun  uint64 // songs that waited so and then began
	Undone uint64 // songs that a note of the song before has ended again
}

// leftSong is a song that a program change ended before its time. A note that only this
// song has brings it back to where it was.
type leftSong struct {
	song  int32      // None: there is none
	base  clock.Beat // its playback.base
	place int        // its place in the set list, as playback.setListIndex
}

// selectByProgram chooses a song as a MIDI program change asks. While no song plays
// it is chosen at once. While another plays it waits, as the message may be a
// mistake, and begins:
//
//   - when the transport stops;
//   - when it starts from 0, or jumps to 0 or to a place outside the present song;
//   - where the present song ends;
//   - when a note that enters a section at once names one of it: see enterOtherSong.
//
// The song that plays, named again, releases the one that waits.
func (s *State) selectByProgram(p *Program, song int32, pos clock.Position) {
	if song < 0 || int(song) >= len(p.Songs) {
		s.unknownCommands++
		return
	}
	t := &s.play
	s.programs.Song = song
	switch {
	case t.selectAgain(song, p.RunsOn, pos):
		t.programSong = None
	case song != t.song && t.playsOn(p, pos):
		t.programSong, t.programAt = song, t.musicBeat(pos)
		s.programs.Armed++
	default:
		left := t.songToBringBack(p, pos)
		s.findPlace(p, song)
		s.startSongSoon(p, song, pos)
		if t.song == song && left.song != song {
			t.left = left
		}
	}
}

// selectAgain reports whether a song is chosen that is the present one already: DAWs
// repeat their program change when they start or jump, and the song goes on. While the
// transport is stopped it sets selectedAgain.
func (p *playback) selectAgain(song int32, runsOn bool, pos clock.Position) bool {
	if song != p.song || p.armed.song != None || p.settlesAtStart || !p.live && pos.Playing || !p.withinSong(pos) {
		return false
	}
	p.selectedAgain = !pos.Playing && runsOn
	return true
}

// playsOn reports whether the transport plays in the present song, beyond the first
// bar since play started or the song did. In that bar a program change belongs to the
// start: DAWs send them a little after it.
func (p *playback) playsOn(prog *Program, pos clock.Position) bool {
	if p.song == None || !pos.Playing || !p.live {
		return false
	}
	song := &prog.Songs[p.song]
	here, _, _ := p.expectedPlace(song, pos.Beat)
	since := p.musicBeat(pos) - p.playFrom
	return here >= 0 && here < p.end && (since < 0 || since >= song.Meter.Bar())
}

// songToBringBack returns the song that a note of it brings back, if a program change
// ends it at pos: the present one between its first bar and its end. If that has not
// been played, it is the one that was to be brought back before; else there is none.
func (p *playback) songToBringBack(prog *Program, pos clock.Position) leftSong {
	switch {
	case p.song == None:
		return leftSong{song: None}
	case !p.live:
		return p.left
	}
	if here := p.songBeat(pos); here < prog.Songs[p.song].Meter.Bar() || here >= p.end {
		return leftSong{song: None}
	}
	return p.presentAsLeft()
}

// presentAsLeft returns what brings the present song back once it is left.
func (p *playback) presentAsLeft() leftSong {
	return leftSong{song: p.song, base: p.base, place: p.setListIndex}
}

// moveToProgramSong starts the song that waits if the transport has stopped, started
// from 0 or left the present song.
func (s *State) moveToProgramSong(p *Program, pos clock.Position) {
	t := &s.play
	at := t.heardBeat(pos)
	if !pos.Playing || at == 0 || !t.withinSong(pos) {
		s.startByProgram(p, pos, at, t.presentAsLeft())
	}
}

// startByProgram starts the song that waits, as startSong does. Notes of the song
// left, if any, can bring that one back.
func (s *State) startByProgram(p *Program, pos clock.Position, at clock.Beat, left leftSong) {
	song := s.play.programSong
	s.programs.Begun++
	s.findPlace(p, song)
	s.startSong(p, song, pos, at)
	s.play.left = left
}

// enterOtherSong reports whether a note that enters a section at once names one of
// another song than the present one, and enters it:
//
//   - of a song that waits, if the present song lacks the note, or the note came with
//     the program change, within confirmWindow after it;
//   - of a song that a program change ended before its time, if the present song lacks
//     the note, or the transport has jumped beyond its end. The program change was a
//     mistake, and that song is back.
func (s *State) enterOtherSong(p *Program, note int32, pos clock.Position) bool {
	t := &s.play
	known := t.song != None && p.Songs[t.song].sectionByNote(note) != None
	if song := t.programSong; song != None {
		section := p.Songs[song].sectionByNote(note)
		after := t.musicBeat(pos) - t.programAt
		together := after >= 0 && after <= pos.Tempo.Beats(confirmWindow)
		if section != None && (together || !known) {
			left := leftSong{song: None} // a note that only the new song has: it is meant
			if known {
				left = t.presentAsLeft()
			}
			s.enterProgramSong(p, section, pos, left)
			return true
		}
	}
	left := t.left
	if left.song == None {
		return false
	}
	song := &p.Songs[left.song]
	section := song.sectionByNote(note)
	switch {
	case section != None && (!known || t.keepLightUntil == noMark):
		s.programs.Undone++
		s.startSong(p, left.song, pos, t.heardBeat(pos))
		t.settlesAtStart = false
		t.enterNow(&song.Sections[section], pos)
		t.base, t.setListIndex = left.base, left.place
		return true
	case known && section == None:
		t.left = leftSong{song: None} // the present song is meant
	}
	return false
}

// enterProgramSong starts the song that waits at one of its sections: the DAW stands
// there in it. A note for its first one that comes a little early waits for its downbeat.
func (s *State) enterProgramSong(p *Program, section int32, pos clock.Position, left leftSong) {
	t := &s.play
	song := t.programSong
	at, early := t.earlyCommand(pos, p.Window)
	if early && section == 0 {
		s.programs.Begun++
		s.findPlace(p, song)
		t.disarm()
		t.programSong = None
		t.armed = armed{section: None, song: song, boundary: at, fromNote: true}
		return
	}
	s.startByProgram(p, pos, at, left)
	t.enterNow(&p.Songs[song].Sections[section], pos)
	t.base = t.origin - t.dawDelay
}
