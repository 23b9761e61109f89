package smf

import (
	"slices"

	"tactus/engine"
)

// controlChannel returns the channel, 1..16, of program changes and control notes; 1
// if the show accepts them on any channel.
func controlChannel(p *engine.Program) uint8 {
	if p.Notes.Control == 0 {
		return 1
	}
	return p.Notes.Control
}

// controlNote returns the lowest note that gives a command, or engine.NoNote.
func controlNote(p *engine.Program, kind engine.CommandKind) uint8 {
	for note, k := range p.Notes.Controls {
		if k == kind {
			return uint8(note)
		}
	}
	return engine.NoNote
}

// selectionOf returns how the song at a place of the set list is selected.
func selectionOf(p *engine.Program, place int) selection {
	s := selection{channel: controlChannel(p), program: ProgramOf(p, p.SetList[place]), note: engine.NoNote}
	if s.program < 0 && isNext(p, place) {
		s.note = controlNote(p, engine.NextSong)
	}
	return s
}

// ProgramOf returns the MIDI program, 0..127, that selects a song, or -1.
func ProgramOf(p *engine.Program, song int32) int16 {
	if own := p.Songs[song].Program; own >= 0 && own <= 127 && p.Notes.ByProgram[own] == song {
		return own
	}
	for program, s := range p.Notes.ByProgram {
		if s == song {
			return int16(program)
		}
	}
	return -1
}

// isNext reports whether "next song" leads to a place of the set list. It does not if
// the song before stands in the list earlier too: the engine goes on from the song's
// first place.
func isNext(p *engine.Program, place int) bool {
	return place == 0 || slices.Index(p.SetList, p.SetList[place-1]) == place-1
}

// sectionNote returns the channel, 1..16, and the note that enter a section at once,
// or engine.NoNote if the engine would read the note as something else.
func sectionNote(p *engine.Program, song *engine.Song, section int32) (channel, note uint8) {
	channel, note = p.Notes.Fire, song.Sections[section].Note
	if channel == 0 || note > 127 || p.Notes.IsTap(channel, note) {
		return 0, engine.NoNote
	}
	if slices.ContainsFunc(song.Sections[:section], func(s engine.Section) bool { return s.Note == note }) {
		return 0, engine.NoNote // the note enters the earlier section
	}
	if c, ok := p.Notes.NoteOn(channel, note); !ok || c.Kind != engine.FireNote {
		return 0, engine.NoNote
	}
	return channel, note
}
