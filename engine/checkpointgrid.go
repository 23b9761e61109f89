package engine

import (
	"tactus/clock"
	"tactus/protocol/dmx"
)

// code codes all but the engine, the clock and what is called for events.
func (f *frames) code(c *clock.Coder) {
	f.grid.code(c)
	clock.CodeIndex(c, &f.rate, 1, dmx.MaxRate, "the rate in frames a second")
	clock.CodeInts(c, &f.lead)
	codeSong(c, f.engine.prog, &f.tempoSong)
	clock.CodeIndex(c, &f.tempoChanges, 0, mostTempoChanges, "the number of changes of tempo")
	ev := &f.announced
	clock.CodeIndex(c, &ev.Kind, 0, int(clock.Planned), "the kind of an event")
	clock.CodeInts(c, &ev.At)
	clock.CodeInts(c, &ev.Sixteenths)
	clock.CodeInts(c, &ev.Tempo, &ev.Next)
	clock.CodeInts(c, &ev.Beat)
}

// mostTempoChanges is a bound for the changes of tempo of a song.
const mostTempoChanges = 1 << 20

func (g *frameGrid) code(c *clock.Coder) {
	g.pace.code(c)
	c.Bools(&g.free, &g.marked)
	clock.CodeInts(c, &g.mark)
	clock.CodeInts(c, &g.at)
	clock.CodeInts(c, &g.stepsLeft, &g.stepsBefore)
}

func (p *pace) code(c *clock.Coder) {
	clock.CodeInts(c, &p.base)
	clock.CodeInts(c, &p.n)
	clock.CodeIndex(c, &p.rate, 0, dmx.MaxRate, "the rate in frames a second")
	c.Times(p.times[:])
	clock.CodeIndex(c, &p.i, 0, len(p.times)-1, "the place of a frame's time")
}

func (e *barEvidence) code(c *clock.Coder) {
	c.Bools(&e.muted, &e.placed)
	clock.CodeInts(c, &e.usualOffset, &e.last)
	clock.CodeIndex(c, &e.usualNotes, 0, notesForHabit, "the number of notes at their usual place")
	clock.CodeIndex(c, &e.agreeing, 0, notesToAgree, "the number of notes that agree")
	clock.CodeInts(c, &e.first, &e.ticksOff)
	for i := range e.seen {
		clock.CodeInts(c, &e.seen[i])
	}
}

// longestPause is how long a loop may have been away, to both sides, and still go on with
// its frames as planned. The frames between are missed. After more, it plans anew.
const longestPause = 2 * clock.Second

// goOn goes on with the frames that were planned, and reports whether it can: the rate
// is the same, and the next frame is not long past or far ahead.
func (f *frames) goOn(from *frames, now clock.Time) bool {
	g := from.grid
	if g.rate != int64(f.rate) || g.free != f.grid.free {
		return false
	}
	if away := now - g.next(); away < -longestPause || away > longestPause {
		return false
	}
	f.grid = g
	return true
}
