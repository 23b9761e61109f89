package engine

import (
	"context"
	"errors"
	"runtime"
	"sync/atomic"
	"time"

	"tactus/clock"
	"tactus/protocol/dmx"
)

// Output sends universes. Send must not block or keep u; due marks, by index, those to
// send now; nil is all. Errors are counted and never stop the loop.
type Output interface {
	Send(now clock.Time, u []dmx.Universe, due []bool) error
	Close() error
}

// Input is an event for the clock, a command for the show, or both. They share a
// channel, to stay in order.
type Input struct {
	Event   clock.Event // ignored when its Kind is 0
	Command Command     // ignored when its Kind is 0
	// At is when Command came, if it is a note of the DAW that leads the tempo; else
	// 0. Such notes check the count of bars: see barEvidence.
	At clock.Time
	// Reload is an edited program, or nil. It is taken over with the next frame; input
	// after it waits until then.
	Reload *Reload
}

// Loop runs an engine in real time. It owns the engine, the clock and the outputs
// from Run on, and has the only timer of the program.
type Loop struct {
	frames
	config   LoopConfig
	sentAt   clock.Time // when something was last sent
	leaving  bool       // the goodbye has begun
	health   Health
	edited   *Reload // to be taken over with the next frame
	last     lastFrame
	board    board
	delayed  delayedUniverses
	evidence barEvidence

	following       following
	checkpointing   checkpointing
	checkpointAsked atomic.Bool
	madeAt          clock.Time // when the last frame was made

	spreaders []Spreader  // of the outputs
	levels    InputLevels // scratch
}

// LoopConfig configures a Loop.
type LoopConfig struct {
	Engine   *Engine
	Clock    *clock.Transport
	Base     clock.Base
	Input    <-chan Input
	Shares   []Share // of those who ask beside the clock and its notes
	Outputs  []Output
	Levels   []*LevelBox // levels that come in, by Program.LevelInputs; nil: none
	Messages Messages    // sends the messages of cues; nil: they are not sent
	Rate     int         // frames a second, 1..44; 0 is 44
	Lead     clock.Time  // how far ahead of the beat to render
	// Leads is the lead of each universe beyond Lead; nil: none. Light is rendered once,
	// with the longest lead, and sent later to universes with less. Commands reach those
	// later too.
	Leads   []clock.Time
	Free    bool       // frames at the plain rate, not on beats and cues
	Rise    clock.Time // length of the fade up at the start
	Goodbye clock.Time // length of the fade out at the end
	Dark    clock.Time // how long the end of that fade is sent, for outputs with fewer frames
	// Wait blocks until a moment, if the system has something more precise than Go's
	// timer. It is called on the loop's own thread. Nil: Go's timer is used.
	Wait    func(clock.Time)
	Journal *Journal // records what the loop does; may be nil

	// Resume is a show to go on with, or nil. Engine and Clock are then its own, Rise is
	// ignored, and Base must go on with its times: see clock.ResumeBase.
	Resume      *Restored
	Checkpoints Checkpoints  // keeps what another process needs to go on; may be nil
	Origin      clock.Origin // of Base, for checkpoints

	// Followed gives the steps of another loop to follow; nil: there is none. With Follows
	// the loop begins by following, and sends nothing before the first step.
	Followed <-chan Followed
	Follows  bool
}

// NewLoop prepares a loop.
func NewLoop(c LoopConfig) *Loop {
	if c.Rate == 0 {
		c.Rate = dmx.MaxRate
	}
	if c.Rate < 1 || c.Rate > dmx.MaxRate {
		panic("engine: a loop runs at 1 to 44 frames a second")
	}
	if c.Resume != nil {
		c.Engine, c.Clock = c.Resume.frames.engine, c.Resume.frames.clock
	}
	l := &Loop{
		frames:  newFrames(c.Engine, c.Clock, c.Rate, c.Lead+longest(c.Leads), c.Free),
		config:  c,
		delayed: newDelayedUniverses(c.Leads, c.Engine.prog.Patch.Universes(), c.Rate),
	}
	l.spreaders = spreadersOf(c.Outputs)
	l.following = newFollowing(&c)
	l.onHandled = l.recordEvent
	pos := clock.Position{}
	if c.Resume != nil {
		pos = l.takeOver(c.Resume)
		l.delayed.startAt(l.health.Frames)
	}
	l.board.post(c.Engine, pos, &l.health)
	return l
}

// Snapshot copies the last frame into dst, reusing its slices.
func (l *Loop) Snapshot(dst *Snapshot) { l.board.read(dst) }

// Run makes frames until the context ends, then fades out and closes the outputs. It
// returns the errors of closing.
func (l *Loop) Run(ctx context.Context) error {
	l.start(l.now())
	if l.config.Wait != nil {
		runtime.LockOSThread()
		defer runtime.UnlockOSThread()
	}
	timer := time.NewTimer(0)
	defer timer.Stop()
	stop, end := ctx.Done(), clock.Time(0)
	for {
		if l.followOther(timer, stop) {
			return l.close()
		}
		if !l.await(timer, stop) {
			if l.config.Goodbye <= 0 {
				return l.close()
			}
			stop = nil
			end = l.startGoodbye(l.now())
		}
		l.step(l.now())
		if l.leaving && l.sentAt >= end+l.config.Dark+l.delayed.longest { // after a dark frame
			return l.close()
		}
	}
}

// await waits for the next frame. It returns false if stop is closed.
func (l *Loop) await(timer *time.Timer, stop <-chan struct{}) bool {
	if l.config.Wait != nil {
		l.config.Wait(l.nextWake() - l.following.shift)
		select {
		case <-stop:
			return false
		default:
			return true
		}
	}
	timer.Reset(l.config.Base.Until(l.nextWake() - l.following.shift))
	select {
	case <-timer.C:
		return true
	case <-stop:
		return false
	}
}

func (l *Loop) start(now clock.Time) {
	if l.config.Resume != nil {
		if !l.goOn(&l.config.Resume.frames, now) {
			l.grid.start(now, l.rate)
		}
		return
	}
	l.grid.start(now, l.rate)
	if l.config.Rise > 0 && !l.following.waits {
		l.moveMaster(0, 0, now)
		l.moveMaster(1, l.config.Rise, now)
	}
}

// startGoodbye starts the fade out and returns when it ends.
func (l *Loop) startGoodbye(now clock.Time) (end clock.Time) {
	l.leaving = true
	l.moveMaster(0, l.config.Goodbye, now)
	return now + l.config.Goodbye
}

// moveMaster moves the grand master for the fades at start and end.
func (l *Loop) moveMaster(level float64, over, now clock.Time) {
	l.engine.masters.all.moveTo(level, over, now+l.lead)
	l.config.Journal.Append(&Record{Kind: RecordMasterMove, At: now, Command: Command{Kind: GrandMaster, Level: level, Over: over}})
}

func (l *Loop) recordEvent(e clock.Event, now clock.Time) {
	l.evidence.handleTransport(e.Kind)
	l.checkpointing.changed = l.checkpointing.changed || e.Kind != clock.Tick24
	l.config.Journal.Append(&Record{Kind: RecordEvent, At: now, Event: e})
}

// nextWake returns when the next frame is due, an earlier frame for universes with less
// lead, or a slice of the last one.
func (l *Loop) nextWake() clock.Time { return min(l.grid.next(), l.delayed.next(), l.nextSlice()) }

// step makes or sends the frame that is due at now, if any.
func (l *Loop) step(now clock.Time) {
	l.sendSlices(now - l.following.shift)
	if g := l.delayed.nextGroup(); g != nil && g.next <= min(now, l.grid.next()) {
		l.health.Missed += l.delayed.skipToDue(g, now)
		l.send(now, l.delayed.universes(g), g.due)
		l.config.Journal.Append(&Record{Kind: RecordDelayedFrame, At: now, Frame: uint64(g.n), Delay: g.delay})
		l.delayed.recordSent(g, l.now())
		l.keepCheckpoint()
		return
	}
	if now < l.grid.next() {
		l.keepCheckpoint()
		return
	}
	l.drainInput(now)
	if l.last.untouched {
		l.takeReload(now, l.last.pos)
	}
	l.followScore(now) // after events with earlier times
	l.takeLevels(now)
	if pos, ok := l.position(now); ok {
		l.emitFrame(now, pos)
	}
}

// emitFrame makes and sends a frame, plans the next and posts a snapshot.
func (l *Loop) emitFrame(now clock.Time, pos clock.Position) {
	due, errs := l.grid.next(), l.health.Errors
	l.madeAt = now
	l.health.Late = now - due
	missed := l.grid.takeFrame(now)
	universes := l.engine.Frame(pos)
	l.health.Missed += missed
	l.send(now, universes, l.delayed.lead)
	l.deliverSends()
	if l.config.Journal != nil { // without one no checksum is needed
		l.config.Journal.Append(&Record{
			Kind: RecordFrame, At: now, Frame: l.health.Frames, Sum: Sum(universes), Missed: missed, Errors: l.health.Errors - errs,
		})
	}
	l.health.Frames++
	l.grid.recordSent(l.now())
	l.delayed.keepFrame(due, universes)
	l.takeReload(now, pos)
	l.last = lastFrame{pos, true}
	l.planNext(pos)
	l.health.Arrivals, l.health.BarOffset = l.clock.Arrivals(), l.evidence.barOffset(pos.Tempo)
	l.board.post(l.engine, pos, &l.health)
	l.recordCheckpoint(now)
	l.keepCheckpoint()
}

func (l *Loop) send(now clock.Time, u []dmx.Universe, due []bool) {
	l.sentAt = now
	var bad error
	for _, o := range l.config.Outputs {
		if err := o.Send(now-l.following.shift, u, due); err != nil {
			l.health.Errors++
			bad = err
		}
	}
	if len(l.spreaders) > 0 {
		l.sendSlices(l.config.Base.Now())
	}
	l.health.LastErr = bad
	if bad == nil {
		l.health.LastGood = now
	}
}

// drainInput gives waiting events to the clock and commands to the engine: as many as
// the channel holds at first, so that a flood does not delay the frame.
func (l *Loop) drainInput(now clock.Time) {
	for range len(l.config.Input) {
		if l.edited != nil {
			break
		}
		in := <-l.config.Input
		l.edited = in.Reload
		in.moveBy(l.following.shift)
		l.takeInput(&in, now)
	}
	l.drainShares(now)
}

// lastFrame is what the loop needs to take over an edited program before a frame: the
// program is taken over at the frame before, whose light the heads still have.
type lastFrame struct {
	pos       clock.Position
	untouched bool // no command has changed the show since; one that has makes the edit wait for its frame
}

func (l *Loop) takeReload(now clock.Time, pos clock.Position) {
	r := l.edited
	l.edited = nil
	if r == nil {
		return
	}
	if l.reload(r, pos) {
		l.checkpointing.changed = true
		l.refreshLevels()
		l.config.Journal.Append(&Record{Kind: RecordReload, At: now})
	}
	close(r.taken)
}

func (l *Loop) close() error {
	l.config.Journal.Append(&Record{Kind: RecordEnd, At: l.now()})
	var errs []error
	for _, o := range l.config.Outputs {
		errs = append(errs, o.Close())
	}
	return errors.Join(errs...)
}
