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
	// At is when the Command came, for a note of the DAW that leads the tempo; else
	// 0. The bars that are counted are held against such notes.
	At clock.Time
	// Reload is another program to go on with, or nil. It is taken once a frame
	// has left; what comes after it waits, for it means the new one.
	Reload *Reload
}

// Loop runs an engine in real time. It owns the engine, the clock and the
// outputs from Run on, and holds the only timer of the program.
type Loop struct {
	frames
	base     clock.Base
	input    <-chan Input
	outputs  []Output
	messages Messages
	rise     clock.Time
	goodbye  clock.Time
	sentAt   clock.Time // when something was last sent
	leaving  bool       // the goodbye has begun
	dark     clock.Time
	wait     func(clock.Time)
	journal  *Journal

	health   Health
	reload   *Reload // to be taken after the next frame
	board    board
	delayed  delayedUniverses
	evidence barEvidence
}

// LoopConfig says what a loop drives and how.
type LoopConfig struct {
	Engine   *Engine
	Clock    *clock.Transport
	Base     clock.Base
	Input    <-chan Input
	Outputs  []Output
	Messages Messages   // takes what cues send besides light; nil: it is not sent
	Rate     int        // frames a second, 1..44; 0 is 44
	Lead     clock.Time // how far ahead of the beat to render
	// Leads says by universe how much further ahead than Lead it is to be; nil is
	// no further. All is rendered once, at the longest; what has less is sent the
	// same frame later, so commands reach it later by the difference.
	Leads   []clock.Time
	Free    bool       // keep to the plain rate, whatever the beat
	Rise    clock.Time // how long the light takes to come up at the start
	Goodbye clock.Time // how long it takes to fade before the outputs close
	// Dark is how long the end of that fade is sent on, so that outputs with
	// fewer frames a second have it too.
	Dark clock.Time
	// Wait blocks until a moment. It is for systems where something wakes more
	// exactly than Go's timer, and is called on a thread of the loop's own. Nil
	// is the timer.
	Wait func(clock.Time)
	// Journal takes down what the loop does; nil is nobody.
	Journal *Journal
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
		frames: newFrames(c.Engine, c.Clock, c.Rate, c.Lead+longest(c.Leads), c.Free),
		base:   c.Base, input: c.Input, outputs: c.Outputs, messages: c.Messages,
		rise: c.Rise, goodbye: c.Goodbye, dark: c.Dark, wait: c.Wait, journal: c.Journal,
	}
	l.onHandled = l.recordEvent
	l.delayed = newDelayedUniverses(c.Leads, c.Engine.prog.Patch.Universes(), c.Rate)
	l.board.last.Program = c.Engine.prog
	l.board.last.Status = c.Engine.Status(clock.Position{})
	l.board.last.Heads = append(l.board.last.Heads, c.Engine.sentLight...)
	l.board.last.Universes = append(l.board.last.Universes, c.Engine.universes...)
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
			end = l.startGoodbye(l.base.Now())
		}
		l.step(l.base.Now())
		if l.leaving && l.sentAt >= end+l.dark+l.delayed.longest { // a frame at zero has gone out
			return l.close()
		}
	}
}

// await waits for the next frame. It returns false once the show is to stop.
func (l *Loop) await(timer *time.Timer, stop <-chan struct{}) bool {
	if l.wait != nil {
		l.wait(l.nextWake())
		select {
		case <-stop:
			return false
		default:
			return true
		}
	}
	timer.Reset(l.base.Until(l.nextWake()))
	select {
	case <-timer.C:
		return true
	case <-stop:
		return false
	}
}

// start begins the pace, and the rise from dark if one is asked for.
func (l *Loop) start(now clock.Time) {
	l.grid.start(now, l.rate)
	if l.rise > 0 {
		l.moveMaster(0, 0, now)
		l.moveMaster(1, l.rise, now)
	}
}

// startGoodbye begins the goodbye and returns when it ends.
func (l *Loop) startGoodbye(now clock.Time) (end clock.Time) {
	l.leaving = true
	l.moveMaster(0, l.goodbye, now)
	return now + l.goodbye
}

// moveMaster moves the grand master for the loop's own sake.
func (l *Loop) moveMaster(level float64, over, now clock.Time) {
	l.engine.masters.move(level, over, now+l.lead)
	l.journal.Append(&Record{Kind: RecordMasterMove, At: now, Command: Command{Kind: GrandMaster, Level: level, Over: over}})
}

// recordEvent takes down what the clock was handed.
func (l *Loop) recordEvent(e clock.Event, now clock.Time) {
	l.evidence.handleTransport(e.Kind)
	l.journal.Append(&Record{Kind: RecordEvent, At: now, Event: e})
}

// nextWake returns when there is something to send: a frame, or an earlier one for
// universes with less lead.
func (l *Loop) nextWake() clock.Time { return min(l.grid.next(), l.delayed.next()) }

// step does what is due at now, if anything.
func (l *Loop) step(now clock.Time) {
	if g := l.delayed.nextGroup(); g != nil && g.next <= min(now, l.grid.next()) {
		l.health.Missed += l.delayed.skipToDue(g, now)
		l.send(now, l.delayed.universes(g), g.due)
		l.journal.Append(&Record{Kind: RecordDelayedFrame, At: now, Frame: uint64(g.n), Delay: g.delay})
		l.delayed.recordSent(g, l.base.Now())
		return
	}
	if now < l.grid.next() {
		return
	}
	l.drainInput(now)
	if pos, ok := l.position(now); ok {
		l.emitFrame(now, pos)
	}
}

// emitFrame makes a frame and sends it: light, wire, snapshot, and where the next one
// lies.
func (l *Loop) emitFrame(now clock.Time, pos clock.Position) {
	due, errs := l.grid.next(), l.health.Errors
	l.health.Late = now - due
	universes, missed := l.renderFrame(now, pos)
	l.health.Missed += missed
	l.send(now, universes, l.delayed.lead)
	l.deliverSends()
	if l.journal != nil {
		l.journal.Append(&Record{
			Kind: RecordFrame, At: now, Frame: l.health.Frames, Sum: Sum(universes), Missed: missed, Errors: l.health.Errors - errs,
		})
	}
	l.health.Frames++
	l.grid.recordSent(l.base.Now())
	l.delayed.keepFrame(due, universes)
	l.takeReload(now, pos)
	l.planNext(pos)
	l.health.Arrivals, l.health.BarOffset = l.clock.Arrivals(), l.evidence.barOffset(pos.Tempo)
	l.board.post(l.engine, pos, &l.health)
}

// send hands the universes that are due to every output.
func (l *Loop) send(now clock.Time, u []dmx.Universe, due []bool) {
	l.sentAt = now
	var bad error
	for _, o := range l.outputs {
		if err := o.Send(now, u, due); err != nil {
			l.health.Errors++
			bad = err
		}
	}
	l.health.LastErr = bad
	if bad == nil {
		l.health.LastGood = now
	}
}

// drainInput hands waiting events to the clock and commands to the engine, at most
// as many as the channel held, so that a flood cannot hold up the frame. The
// internal clock takes its tempo from the song that a command may have chosen.
func (l *Loop) drainInput(now clock.Time) {
	for range len(l.input) {
		if l.reload != nil {
			break
		}
		in := <-l.input
		l.reload = in.Reload
		if in.Event.Kind != 0 {
			l.handleEvent(in.Event, now)
		}
		if l.leaving && in.Command.Kind == GrandMaster {
			continue // the goodbye has it
		}
		if in.Command.Kind != 0 {
			if in.Command.Kind == AlignBars {
				in.Command.Index = l.evidence.shownTicks() // so that a record holds it
				l.evidence.clear()
			}
			l.engine.Do(in.Command, l.clock.At(now+l.lead))
			l.weighNote(&in)
			l.journal.Append(&Record{Kind: RecordCommand, At: now, Command: in.Command})
		}
	}
	l.followScore(now) // last: what came before now keeps its own time
}

// takeReload goes on with another program, if one has come.
func (l *Loop) takeReload(now clock.Time, pos clock.Position) {
	r := l.reload
	if r == nil {
		return
	}
	l.reload = nil
	tempo := l.engine.PlannedTempo(pos.Beat)
	known := l.tempoSong == l.engine.play.song
	if !l.engine.Reload(r, pos) {
		return
	}
	l.tempoSong = None
	if known && tempo == l.engine.PlannedTempo(pos.Beat) {
		l.tempoChanges = l.engine.tempoChangesBy(pos.Beat)
		l.tempoSong = l.engine.play.song // the internal clock has its tempo, or taps
	}
	l.journal.Append(&Record{Kind: RecordReload, At: now})
}

func (l *Loop) close() error {
	l.journal.Append(&Record{Kind: RecordEnd, At: l.base.Now()})
	var errs []error
	for _, o := range l.outputs {
		errs = append(errs, o.Close())
	}
	return errors.Join(errs...)
}
