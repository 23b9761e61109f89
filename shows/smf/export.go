package smf

import (
	"fmt"

	"tactus/clock"
	"tactus/engine"

	"gitlab.com/gomidi/midi/v2/smf"
)

// Signature is the text event (FF 01, SMF 3.1) by which Read knows that markers
// are the names of sections, letter by letter. Programs that drop it lose only
// that: markers are then read as a person's.
const Signature = "tactus: markers are sections"

// WriteSong returns one song as a file to put into its DAW project: tempo map,
// meters, a marker and a note on each section's first downbeat, and the program
// change that selects the song, if one does. It begins at the song's first
// downbeat and ends with its last bar. Equal songs give equal bytes.
//
// mute has the names of the sections whose note would not enter them, such as
// one that another section has too: they follow by song position only.
//
// It refuses a song without sections (ErrEmpty), tempos that the clock would not
// follow (ErrTempo), and more than 77 hours at 60 BPM (ErrLong).
func WriteSong(p *engine.Program, song int32) (src []byte, mute []string, err error) {
	s := &p.Songs[song]
	if len(s.Sections) == 0 {
		return nil, nil, fmt.Errorf("%w: %s has none", ErrEmpty, s.Name)
	}
	if err := checkTempos(s); err != nil {
		return nil, nil, err
	}
	end := s.Length()
	if ticks(end) > maxDelta {
		return nil, nil, fmt.Errorf("%w: %d ticks, at most %d", ErrLong, ticks(end), maxDelta)
	}
	entries := PlanSong(p, song)
	for i := range entries {
		if entries[i].Note == engine.NoNote {
			mute = append(mute, entries[i].Name)
		}
	}
	events := score(p, entries, s.Name)
	events = append(events[:1:1], append([]event{{0, smf.MetaText(Signature)}}, events[1:]...)...)
	src, err = fileOf(end, events, messages(p, entries))
	return src, mute, err
}

// PlanSong lists the sections of one song in order of time, from its first
// downbeat.
func PlanSong(p *engine.Program, song int32) []Entry {
	s := &p.Songs[song]
	t := timeline{last: s}
	entries := make([]Entry, len(s.Sections))
	for i := range s.Sections {
		c := &s.Sections[i]
		e := Entry{At: t.at(c.Start), Beat: c.Start, Song: song, Section: int32(i), Name: c.Name}
		e.Channel, e.Note = sectionNote(p, s, int32(i))
		if program := programOf(p, song); i == 0 && program >= 0 {
			e.Select = Select{Channel: controlChannel(p), Program: program, Note: engine.NoNote}
		}
		entries[i] = e
	}
	return entries
}

// length of a note in ticks: a quarter, at most half the section, so that it
// ends before the next.
func noteTicks(section clock.Beat) clock.Beat {
	return max(1, min(clock.Beat(Division), ticks(section/2)))
}
