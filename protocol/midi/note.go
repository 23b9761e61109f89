package midi

import (
	"cmp"
	"slices"
)

// Note is a note of a file.
type Note struct {
	Tick, End int64 // where it begins and ends; End >= Tick, at most File.Ticks
	Track     int   // from 0
	Channel   uint8 // 1..16
	Key       uint8 // 0..127
	Velocity  uint8 // 1..127
}

// Notes lists the notes of all tracks in order of their beginning. A note ends at the
// next note off, or note on, of its key on its channel in its track; one that never
// ends has no length. A note on of velocity 0 is a note off (MIDI 1.0, note off).
func (f *File) Notes() []Note {
	type key struct {
		track        uint16
		channel, key uint8
	}
	var notes []Note
	open := map[key]int{}
	for _, e := range f.events {
		status := e.bytes[0] & 0xF0
		if status != 0x80 && status != 0x90 || e.len < 3 {
			continue
		}
		k := key{e.track, e.bytes[0]&0x0F + 1, e.bytes[1]}
		if i, ok := open[k]; ok {
			notes[i].End = e.tick
			delete(open, k)
		}
		if status == 0x90 && e.bytes[2] > 0 {
			open[k] = len(notes)
			notes = append(notes, Note{e.tick, e.tick, int(e.track), k.channel, k.key, e.bytes[2]})
		}
	}
	slices.SortStableFunc(notes, func(a, b Note) int { return cmp.Compare(a.Tick, b.Tick) })
	return notes
}
