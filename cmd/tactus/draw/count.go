package draw

import (
	"strconv"

	"tactus/clock"
	"tactus/engine"
)

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
