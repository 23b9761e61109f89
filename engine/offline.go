package engine

import (
	"tactus/clock"
	"tactus/fixtures"
	"tactus/protocol/dmx"
)

// Offline makes the frames that a Loop with the same engine, clock and input
// makes, without a timer and without outputs: the caller says what time it is, and
// a night goes by as fast as its frames can be made.
type Offline struct{ frames }

// NewOffline prepares to make frames from time 0 on, up to 44 a second and with no
// lead. It owns the engine and the clock from then on.
func NewOffline(e *Engine, c *clock.Transport) *Offline {
	o := &Offline{frames: newFrames(e, c, dmx.MaxRate, 0, false)}
	o.grid.start(0, o.rate)
	return o
}

// NextDue returns when the next frame is due.
func (o *Offline) NextDue() clock.Time { return o.grid.next() }

// PositionAt returns where the music is at a moment, as things stand.
func (o *Offline) PositionAt(now clock.Time) clock.Position { return o.clock.At(now) }

// MakeFrame takes what has happened up to now, in order, and makes the frame that is
// due: now is what Next returned. It returns false if that frame waits, by less
// than a millisecond, for a beat or cue; then ask Next again. Input that holds a
// Reload is not for here. The universes are the engine's own and change with the
// next call.
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
	u, _ = o.renderFrame(now, pos)
	o.grid.recordSent(now)
	o.planNext(pos)
	return pos, u, true
}

// SentLight returns the state of each head in the last frame. It is the engine's own and
// changes with the next Step.
func (o *Offline) SentLight() []fixtures.State { return o.engine.SentLight() }

// Status returns where the show stood at the last frame, at pos.
func (o *Offline) Status(pos clock.Position) Status { return o.engine.Status(pos) }

// FlashAreas returns how many parts of the rig are counted; see Engine.FlashAreas.
func (o *Offline) FlashAreas() int { return o.engine.FlashAreas() }

// FlashArea returns part i of those; see Engine.FlashArea.
func (o *Offline) FlashArea(i int) FlashArea { return o.engine.FlashArea(i) }

// View copies what the last frame, at pos, was made of, for those who ask why. If
// there are commands they are done first, and the frame is made again with them.
func (o *Offline) View(pos clock.Position, then ...Command) *View {
	for _, c := range then {
		o.engine.Do(c, pos)
	}
	if len(then) > 0 {
		o.engine.Frame(pos)
	}
	return o.engine.View(pos)
}
