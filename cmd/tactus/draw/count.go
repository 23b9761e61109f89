package draw

import (
	"strconv"

	"tactus/clock"
	"tactus/engine"
)

// barBeat returns the bar of the section and the beat of the bar, both from 1, and
// the number of beats in the bar.
func barBeat(song *engine.Song, at clock.Beat) (bar, beat, beats int64) {
	bar, start, m := song.BarAt(at)
	return bar + 1, int64((at-start)/m.Beat()) + 1, int64(m.Beats())
}

// appendAll appends several strings. It allocates only when b is full.
func appendAll(b []byte, texts ...string) []byte {
	for _, t := range texts {
		b = append(b, t...)
	}
	return b
}

// appendCount prints "1 beat", "2 beats".
func appendCount(b []byte, n int64, unit string) []byte {
	b = strconv.AppendInt(b, n, 10)
	b = appendAll(b, " ", unit)
	if n != 1 {
		b = append(b, 's')
	}
	return b
}
