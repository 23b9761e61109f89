package engine

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"tactus/clock"
)

// A section that is entered while the transport stands starts its effects from
// their beginning, on the pulse, wherever the song position was left: a DAW may
// be wound far on before its first note, or stand for minutes.
func TestEffectsBeginWithASectionEnteredAtRest(t *testing.T) {
	for _, c := range []struct {
		name        string
		beat, pulse clock.Beat
	}{
		{"wound on", 400 * quarter, 7 * quarter},
		{"stood long", 8 * quarter, 900*quarter + quarter/100},
		{"together", 16 * quarter, 16 * quarter},
	} {
		e := New(hall(t))
		pos := clock.Position{Tempo: clock.BPM(120), Beat: c.beat, Pulse: c.pulse, Jumps: 1}
		e.Frame(pos)
		e.Do(Command{Kind: SelectSong}, pos)
		e.Do(Command{Kind: FireNote, Index: 62}, pos) // chorus 1: the lamps chase, a beat each
		for i := range 8 {
			pos.Pulse = c.pulse + clock.Beat(i)*quarter + quarter/2
			lamps := e.Frame(pos)[0].Slots[6:10]
			for l, v := range lamps {
				if !assert.Equal(t, l == i%4, v > 0, "%s, %d beats and a half after the note: lamps % x", c.name, i, lamps) {
					break
				}
			}
		}
		// The start puts them where the song is.
		pos.Beat, pos.Playing, pos.Jumps = 26*quarter+quarter/2, true, 2
		pos.Pulse = pos.Beat
		lamps := e.Frame(pos)[0].Slots[6:10]
		assert.NotZero(t, lamps[2], "%s, playing", c.name)
		assert.Zero(t, lamps[0], "%s, playing", c.name)
	}
}
