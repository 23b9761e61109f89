package smf

import (
	"tactus/clock"
	"tactus/engine"
	"tactus/engine/night"
)

// entry is a place in the file: the first downbeat of a section, or the walk-out.
type entry struct {
	beat    clock.Beat // from the start of the file
	song    int32      // index in Program.Songs; engine.None: the walk-out
	section int32      // index in the song; engine.None: the walk-out
	name    string     // the marker: "Lanterns on the Pier: chorus 2"

	selects selection
	channel uint8 // of note, 1..16
	// note enters the section. engine.NoNote: no note is sent, since the engine would
	// read it as something else, and the section follows the song position.
	note uint8
}

// selection is the message that selects a song at its first downbeat.
type selection struct {
	channel uint8 // 1..16; 0: the entry selects no song
	program int16 // 0..127, or -1
	note    uint8 // the "next song" note; engine.NoNote: none
}

// tailBars is the length of the walk-out in bars.
const tailBars = 4

// entriesOf lists the entries of the planned night in order of time, and returns the
// end of the file. The last is the walk-out, if the show has a look and a note for it.
func entriesOf(p *engine.Program) (entries []entry, end clock.Beat) {
	songs := night.PlannedSongs(p)
	for i := range songs {
		s := &songs[i]
		for _, e := range sectionsOf(p, s.Index) {
			e.beat, e.name = s.Start+e.beat, p.Songs[s.Index].Name+": "+e.name
			if e.section == 0 {
				e.selects = selectionOf(p, s.Place)
			}
			entries = append(entries, e)
		}
	}
	if len(songs) == 0 {
		return nil, 0
	}
	last := &songs[len(songs)-1]
	end = last.NextStart(p)
	if note := controlNote(p, engine.ShowWalkOut); p.WalkOut != engine.None && note != engine.NoNote {
		entries = append(entries, entry{beat: end, song: engine.None, section: engine.None, name: "walk-out", channel: controlChannel(p), note: note})
		song := &p.Songs[last.Index]
		end += tailBars * song.MeterAt(song.Length()).Bar()
	}
	return entries, end
}

// sectionsOf lists the sections of a song; beats count from its first downbeat.
func sectionsOf(p *engine.Program, song int32) []entry {
	s := &p.Songs[song]
	entries := make([]entry, len(s.Sections))
	for i := range s.Sections {
		c := &s.Sections[i]
		entries[i] = entry{beat: c.Start, song: song, section: int32(i), name: c.Name}
		entries[i].channel, entries[i].note = sectionNote(p, s, int32(i))
	}
	return entries
}
