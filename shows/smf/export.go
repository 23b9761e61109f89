package smf

import (
	"fmt"

	"tactus/engine"

	"gitlab.com/gomidi/midi/v2/smf"
)

// Signature is a text event (FF 01, SMF 3.1). It tells Read that the markers are exact
// section names. If a DAW drops it, Read interprets the markers as it does those that
// a person wrote.
const Signature = "tactus: markers are sections"

// WriteSong returns one song as a file for its DAW project: tempo map, meters, a marker
// and a note on each section's first downbeat, and the program change that selects the
// song, if there is one. The file begins at the song's first downbeat and ends with
// its last bar. Equal songs give equal bytes.
//
// silent has the names of the sections that no note enters, for example because
// another section has the same note. They follow only the song position.
//
// It refuses a song without sections (ErrEmpty), tempos outside the clock's range
// (ErrTempo), and more than 77 hours at 60 BPM (ErrLong).
func WriteSong(p *engine.Program, song int32) (src []byte, silent []string, err error) {
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
	entries := sectionsOf(p, song)
	if program := ProgramOf(p, song); program >= 0 {
		entries[0].selects = selection{channel: controlChannel(p), program: program, note: engine.NoNote}
	}
	for i := range entries {
		if entries[i].note == engine.NoNote {
			silent = append(silent, entries[i].name)
		}
	}
	events := tempoTrack(p, entries, s.Name)
	events = append(events[:1:1], append([]event{{0, smf.MetaText(Signature)}}, events[1:]...)...)
	src, err = fileOf(end, events, noteTrack(p, entries))
	return src, silent, err
}
