package engine

import (
	"context"
	"errors"
	"runtime"
	"time"

	"tactus/clock"
	"tactus/protocol/dmx"
)

// Output takes universes to the wire, or anywhere else. Send is called once a
// frame and must not block or keep u; Close says goodbye. Errors are counted
// and shown, and never stop the loop.
//
// due tells by index which of the universes leave now: those with another lead
// have frames of their own, and are to be passed over. Nil is all of them.
type Output interface {
	Send(now clock.Time, u []dmx.Universe, due []bool) error
	Close() error
}

// Input is one thing that happened: something for the clock, something for the
// show, or both. They share a channel so that they keep their order.
type Input struct {
	Event   clock.Event // ignored when its Kind is 0
	Command Command     // ignored when its Kind is 0
}

// Loop runs an engine in real time. It owns the engine, the clock and the
// outputs from Run on, and holds the only timer of the program.
type Loop struct {
	engine  *Engine
	clock   *clock.Transport
	base    clock.Base
	input   <-chan Input
	outputs []Output
	rate    int
	lead    clock.Time
	rise    clock.Time
	goodbye clock.Time
	leaving bool  // the goodbye has begun
	song    int32 // whose tempo the internal clock was given
	dark    clock.Time
	wait    func(clock.Time)

	health Health
	board  board
	pace   pace
}

// LoopConfig says what a loop drives and how.
type LoopConfig struct {
	Engine  *Engine
	Clock   *clock.Transport
	Base    clock.Base
	Input   <-chan Input
	Outputs []Output
	Rate    int        // frames a second, 1..44; 0 is 44
	Lead    clock.Time // how far ahead of the beat to render
	Rise    clock.Time // how long the light takes to come up at the start
	Goodbye clock.Time // how long it takes to fade before the outputs close
	// Dark is how long the end of that fade is sent on, so that outputs with
	// fewer frames a second have it too.
	Dark clock.Time
	// Wait blocks until a moment. It is for systems where something wakes more
	// exactly than Go's timer, and is called on a thread of the loop's own. Nil
	// is the timer.
	Wait func(clock.Time)
}

// NewLoop prepares a loop.
func NewLoop(c LoopConfig) *Loop {
	if c.Rate == 0 {
		c.Rate = dmx.MaxRate
	}
	if c.Rate < 1 || c.Rate > dmx.MaxRate {
		panic("engine: a loop runs at 1 to 44 frames a second")
	}
	l := &Loop{
		engine: c.Engine, clock: c.Clock, base: c.Base, input: c.Input, outputs: c.Outputs,
		rate: c.Rate, lead: c.Lead, rise: c.Rise, goodbye: c.Goodbye, dark: c.Dark, wait: c.Wait, song: None,
	}
	l.engine.play.ahead = l.lead
	l.board.last.Status = c.Engine.Status(clock.Position{})
	l.board.last.Heads = append(l.board.last.Heads, c.Engine.lit...)
	l.board.last.Universes = append(l.board.last.Universes, c.Engine.out...)
	return l
}

// Snapshot copies the last frame into dst, reusing its slices.
func (l *Loop) Snapshot(dst *Snapshot) { l.board.read(dst) }

// Run drives frames until the context ends, then fades out if asked and closes
// the outputs. It returns the errors of closing.
func (l *Loop) Run(ctx context.Context) error {
	l.start(l.base.Now())
	if l.wait != nil {
		runtime.LockOSThread()
		defer runtime.UnlockOSThread()
	}
	timer := time.NewTimer(0)
	defer timer.Stop()
	stop, end := ctx.Done(), clock.Time(0)
	for {
		if !l.await(timer, stop) {
			if l.goodbye <= 0 {
				return l.close()
			}
			stop = nil
			end = l.leave(l.base.Now())
		}
		now := l.base.Now()
		if now < l.pace.next() {
			continue
		}
		l.frame(now)
		if l.leaving && now >= end+l.dark { // a frame at zero has gone out
			return l.close()
		}
	}
}

// await waits for the next frame. It returns false once the show is to stop.
func (l *Loop) await(timer *time.Timer, stop <-chan struct{}) bool {
	if l.wait != nil {
		l.wait(l.pace.next())
		select {
		case <-stop:
			return false
		default:
			return true
		}
	}
	timer.Reset(l.base.Until(l.pace.next()))
	select {
	case <-timer.C:
		return true
	case <-stop:
		return false
	}
}

// start begins the pace, and the rise from dark if one is asked for.
func (l *Loop) start(now clock.Time) {
	l.pace.start(now, l.rate)
	if l.rise > 0 {
		l.engine.masters.move(0, 0, now+l.lead)
		l.engine.masters.move(1, l.rise, now+l.lead)
	}
}

// leave begins the goodbye and returns when it ends.
func (l *Loop) leave(now clock.Time) (end clock.Time) {
	l.leaving = true
	l.engine.masters.move(0, l.goodbye, now+l.lead)
	return now + l.goodbye
}

// frame is steps 3 to 10 of a frame: clock, commands, light, wire, snapshot.
func (l *Loop) frame(now clock.Time) {
	l.health.Late = now - l.pace.next()
	l.health.Missed += l.pace.wake(now)
	l.drain(now)
	pos := l.clock.At(now + l.lead)
	universes := l.engine.Frame(pos)
	var bad error
	for _, o := range l.outputs {
		if err := o.Send(now, universes, nil); err != nil {
			l.health.Errors++
			bad = err
		}
	}
	l.health.LastErr = bad
	if bad == nil {
		l.health.LastGood = now
	}
	l.health.Frames++
	l.pace.sent(l.base.Now())
	l.board.post(l.engine, pos, &l.health)
}

// drain hands waiting events to the clock and commands to the engine, at most
// as many as the channel held, so that a flood cannot hold up the frame. The
// internal clock takes its tempo from the song that a command may have chosen.
func (l *Loop) drain(now clock.Time) {
	for range len(l.input) {
		in := <-l.input
		if in.Event.Kind != 0 {
			l.clock.Handle(in.Event)
		}
		if l.leaving && in.Command.Kind == GrandMaster {
			continue // the goodbye has it
		}
		if in.Command.Kind != 0 {
			l.engine.Do(in.Command, l.clock.At(now+l.lead))
		}
	}
	l.follow(now) // last: what came before now keeps its own time
}

// follow gives the tempo of a song that was chosen to the internal clock.
func (l *Loop) follow(now clock.Time) {
	song := l.engine.play.song
	if song == None || song == l.song {
		return
	}
	l.song = song
	l.clock.Handle(clock.Event{At: now, Kind: clock.SetTempo, Tempo: l.engine.Tempo()})
}

func (l *Loop) close() error {
	var errs []error
	for _, o := range l.outputs {
		errs = append(errs, o.Close())
	}
	return errors.Join(errs...)
}
