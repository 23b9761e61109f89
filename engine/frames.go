package engine

import (
	"tactus/clock"
	"tactus/protocol/dmx"
)

// frames are the frames of a show, one after another: an engine, the clock that
// it plays by, and the grid on which its frames lie. What each frame is made of,
// and when the next one is due, is decided here alone. Loop makes them in real
// time and Offline with no timer.
//
// For each frame, in this order:
//
//	next()              when it is due
//	handle, engine.Do   what has happened up to now
//	follow              the clock is told what the score plans
//	position            where the music is; or that the frame waits for its mark
//	frame               light
//	placed              where the next frame lies
type frames struct {
	engine *Engine
	clock  *clock.Transport
	grid   frameGrid
	rate   int        // frames a second, at most
	lead   clock.Time // how far ahead of the beat the light is made

	tempoSong    int32       // whose tempo the internal clock was given
	tempoChanges int32       // of tempo in it, up to that one
	announced    clock.Event // what the clock was told last of the planned tempo

	onHandled func(e clock.Event, now clock.Time) // is told what the clock was handed; or nil
}

func newFrames(e *Engine, c *clock.Transport, rate int, lead clock.Time, free bool) frames {
	f := frames{engine: e, clock: c, rate: rate, lead: lead, tempoSong: None}
	f.engine.play.lead = lead
	f.grid.free = free
	return f
}

// handleEvent hands an event to the clock.
func (f *frames) handleEvent(e clock.Event, now clock.Time) {
	f.clock.Handle(e)
	if f.onHandled != nil {
		f.onHandled(e, now)
	}
}

// position returns where the music is for the frame at now. It returns false if
// that frame was to be a mark's and waits for it.
func (f *frames) position(now clock.Time) (clock.Position, bool) {
	pos := f.clock.At(now + f.lead)
	to, ok := f.clock.When(f.grid.mark)
	return pos, !ok || !f.grid.waitsForMark(now, pos.Beat, to-f.lead)
}

// renderFrame takes the frame that is due at now. missed is how many were to come before
// it and did not. The universes are the engine's own and change with the next call.
func (f *frames) renderFrame(now clock.Time, pos clock.Position) (u []dmx.Universe, missed uint64) {
	missed = f.grid.takeFrame(now)
	return f.engine.Frame(pos), missed
}

// planNext says where the frame lies that follows the one at pos.
func (f *frames) planNext(pos clock.Position) {
	mark := f.engine.nextMark(pos)
	to, ok := f.clock.When(mark)
	f.grid.planNext(mark, to-f.lead, ok)
}
