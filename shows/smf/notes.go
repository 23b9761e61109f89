package smf

import "tactus/engine"

// controlChannel is where program changes and control notes go; a show that
// listens on any channel gets them on 1.
func controlChannel(p *engine.Program) uint8 {
	if p.Notes.Control == 0 {
		return 1
	}
	return p.Notes.Control
}

// controlNote returns the lowest note that asks for kind, or engine.NoNote.
func controlNote(p *engine.Program, kind engine.CommandKind) uint8 {
	for note, k := range p.Notes.Controls {
		if k == kind {
			return uint8(note)
		}
	}
	return engine.NoNote
}

// selection returns how the song at a place of the set list is chosen.
func selection(p *engine.Program, place int) Select {
	song := p.SetList[place]
	s := Select{Channel: controlChannel(p), Program: programOf(p, song), Note: engine.NoNote}
	if s.Program < 0 && isNext(p, place) {
		s.Note = controlNote(p, engine.NextSong)
	}
	return s
}

// programOf returns the program change that selects a song, or -1.
func programOf(p *engine.Program, song int32) int16 {
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

// isNext reports whether "next song" leads to a place of the set list: the
// engine looks for the present song's first place.
func isNext(p *engine.Program, place int) bool {
	if place == 0 {
		return true
	}
	for i, s := range p.SetList {
		if s == p.SetList[place-1] {
			return i == place-1
		}
	}
	return false
}

// sectionNote returns the note that enters a section, as the engine reads it,
// or engine.NoNote.
func sectionNote(p *engine.Program, song *engine.Song, section int32) (channel, note uint8) {
	channel, note = p.Notes.Fire, song.Sections[section].Note
	if channel == 0 || note > 127 || p.Notes.IsTap(channel, note) {
		return 0, engine.NoNote
	}
	for i := range section {
		if song.Sections[i].Note == note {
			return 0, engine.NoNote // enters the earlier section
		}
	}
	if c, ok := p.Notes.NoteOn(channel, note); !ok || c.Kind != engine.FireNote {
		return 0, engine.NoNote
	}
	return channel, note
}
