package engine

import "tactus/clock"

// frames makes the frames of a show one after another, from an engine and the clock
// that it follows. Loop makes them in real time, Offline without a timer. For each
// frame:
//
//	grid.next                when it is due
//	handleEvent, engine.Do   what has happened up to now
//	followScore              the clock is told what the score plans
//	position                 where the music is; or that the frame waits for its mark
//	engine.Frame             light
//	planNext                 when the next frame is due
type frames struct {
	engine *Engine
	clock  *clock.Transport
	grid   frameGrid
	rate   int        // frames a second, at most
	lead   clock.Time // how far ahead of the beat the light is made

	tempoSong    int32       // song whose tempo the internal clock was given
	tempoChanges int32       // how many of its changes of tempo it was given
	announced    clock.Event // last event of kind clock.Planned

	onHandled func(e clock.Event, now clock.Time) // called for each event of the clock; may be nil
}

func newFrames(e *Engine, c *clock.Transport, rate int, lead clock.Time, free bool) frames {
	e.play.lead = lead
	return frames{engine: e, clock: c, rate: rate, lead: lead, tempoSong: None, grid: frameGrid{free: free}}
}

func (f *frames) handleEvent(e clock.Event, now clock.Time) {
	f.clock.Handle(e)
	if f.onHandled != nil {
		f.onHandled(e, now)
	}
}

// position returns where the music is for the frame at now, and false if the frame
// waits for its mark.
func (f *frames) position(now clock.Time) (clock.Position, bool) {
	pos := f.clock.At(now + f.lead)
	to, ok := f.clock.When(f.grid.mark)
	return pos, !ok || !f.grid.waitsForMark(now, pos.Beat, to-f.lead)
}

func (f *frames) planNext(pos clock.Position) {
	mark := f.engine.nextMark(pos)
	to, ok := f.clock.When(mark)
	f.grid.planNext(mark, to-f.lead, ok)
}

// reload goes on with an edited program after the frame at pos, and reports whether it did:
// see Engine.Reload.
func (f *frames) reload(r *Reload, pos clock.Position) bool {
	tempo := f.engine.PlannedTempo(pos.Beat)
	known := f.tempoSong == f.engine.play.song
	if !f.engine.Reload(r, pos) {
		return false
	}
	f.tempoSong = None
	if known && tempo == f.engine.PlannedTempo(pos.Beat) {
		f.tempoChanges = f.engine.tempoChangesBy(pos.Beat)
		f.tempoSong = f.engine.play.song // the internal clock keeps its tempo, which may be tapped
	}
	return true
}
