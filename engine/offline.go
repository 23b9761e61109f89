package engine

import (
	"tactus/clock"
	"tactus/fixtures"
	"tactus/protocol/dmx"
)

// Offline makes the same frames as a Loop with the same engine, clock and input, but
// without timer and outputs: the caller passes the time.
type Offline struct{ frames }

// NewOffline makes up to 44 frames a second from time 0 on, without lead. It owns the
// engine and the clock from then on.
func NewOffline(e *Engine, c *clock.Transport) *Offline {
	o := &Offline{frames: newFrames(e, c, dmx.MaxRate, 0, false)}
	o.grid.start(0, o.rate)
	return o
}

// NextDue returns when the next frame is due.
func (o *Offline) NextDue() clock.Time { return o.grid.next() }

// PositionAt returns the position at a moment, as things stand.
func (o *Offline) PositionAt(now clock.Time) clock.Position { return o.clock.At(now) }

// MakeFrame takes input up to now, in order, and makes the frame that is due: now is
// what NextDue returned. made is false if the frame waits, less than a millisecond,
// for a beat or cue; then ask NextDue again. Input.Reload is not taken. The engine
// owns the universes; the next call changes them.
func (o *Offline) MakeFrame(now clock.Time, in ...Input) (pos clock.Position, u []dmx.Universe, made bool) {
	for i := range in {
		if in[i].Event.Kind != 0 {
			o.handleEvent(in[i].Event, now)
		}
		if in[i].Command.Kind != 0 {
			o.engine.Do(in[i].Command, o.clock.At(now))
		}
	}
	o.followScore(now)
	pos, made = o.position(now)
	if !made {
		return pos, nil, false
	}
	o.grid.takeFrame(now)
	u = o.engine.Frame(pos)
	o.grid.recordSent(now)
	o.planNext(pos)
	return pos, u, true
}

// SentLight returns the state of each head in the last frame; see Engine.SentLight.
func (o *Offline) SentLight() []fixtures.State { return o.engine.SentLight() }

// Status returns where the show stood at the last frame, at pos.
func (o *Offline) Status(pos clock.Position) Status { return o.engine.Status(pos) }

// FlashAreas returns how many areas there are; see Engine.FlashAreas.
func (o *Offline) FlashAreas() int { return o.engine.FlashAreas() }

// FlashArea returns area i; see Engine.FlashArea.
func (o *Offline) FlashArea(i int) FlashArea { return o.engine.FlashArea(i) }

// View copies the engine after the last frame, at pos. Commands are done first, and the
// frame is made again with them.
func (o *Offline) View(pos clock.Position, then ...Command) *View {
	for _, c := range then {
		o.engine.Do(c, pos)
	}
	if len(then) > 0 {
		o.engine.Frame(pos)
	}
	return o.engine.View(pos)
}
