package draw

import (
	"strconv"

	"tactus/clock"
	"tactus/engine"
)

// appendPosition prints a place in a song as musicians say it: "chorus 2, bar 3
// beat 1". Before the first section it counts the beats in, after the last it
// counts on from its end.
func appendPosition(b []byte, song *engine.Song, at clock.Beat) []byte {
	if len(song.Sections) == 0 {
		return appendBarBeat(b, song.Meter, at)
	}
	first, last := &song.Sections[0], &song.Sections[len(song.Sections)-1]
	if at < first.Start {
		b = appendCount(b, beatsUntil(song.Meter, first.Start-at), "beat")
		b = append(b, " before "...)
		return append(b, first.Name...)
	}
	for i := range song.Sections {
		s := &song.Sections[i]
		if at >= s.Start && at < s.Start+s.Length {
			b = append(b, s.Name...)
			b = append(b, ", "...)
			return appendBarBeat(b, song.Meter, at-s.Start)
		}
	}
	b = append(b, "after "...)
	b = append(b, last.Name...)
	b = append(b, ", "...)
	return appendBarBeat(b, song.Meter, at-song.Length())
}

// appendBarBeat prints "bar 3 beat 1", counted from 1.
func appendBarBeat(b []byte, m engine.Meter, at clock.Beat) []byte {
	bar, beat := barBeat(m, at)
	b = append(b, "bar "...)
	b = strconv.AppendInt(b, bar, 10)
	b = append(b, " beat "...)
	return strconv.AppendInt(b, beat, 10)
}

// barBeat returns the bar and the beat in it, each from 1.
func barBeat(m engine.Meter, at clock.Beat) (bar, beat int64) {
	start := at.FloorTo(m.Bar())
	return int64(start/m.Bar()) + 1, int64((at-start)/m.Beat()) + 1
}

// beatsUntil returns how many beats begin before a length has passed.
func beatsUntil(m engine.Meter, length clock.Beat) int64 {
	return int64(length.CeilTo(m.Beat()) / m.Beat())
}

// appendCount prints "1 beat", "2 beats".
func appendCount(b []byte, n int64, unit string) []byte {
	b = strconv.AppendInt(b, n, 10)
	b = append(b, ' ')
	b = append(b, unit...)
	if n != 1 {
		b = append(b, 's')
	}
	return b
}
