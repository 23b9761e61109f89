package engine

import (
	"sync/atomic"
	"time"

	"tactus/clock"
)

// Followed is one step of a loop that follows another: it replays what that one recorded,
// sends the same frames, and can go on live where it stands. Steps are given in order.
type Followed struct {
	// Start has the loop follow from a checkpoint on, in place of what it played; the
	// records after it come next. Nil in all other steps.
	Start  *Restored
	Record Record  // the next record; ignored when its Kind is 0
	Reload *Reload // the edited program of a RecordReload
	// TakeOver has the loop go on live from here.
	TakeOver bool
	// Shift is what to add to a time of LoopConfig.Base to get one of the other loop's, as
	// far as is known now. A loop that has taken over keeps the last.
	Shift clock.Time
}

// FollowCounts says how well a loop follows.
type FollowCounts struct {
	Following bool       // it follows, and has a state to go on from
	Frames    uint64     // made while following
	Differing uint64     // of them, those whose checksum was not the other loop's
	Behind    clock.Time // how long after the other loop the last one was made
}

// following is what a loop needs to follow another.
type following struct {
	replay *Replay    // of the other loop's records; nil while this one is live
	waits  bool       // told to follow, and nothing to follow from has come yet
	shift  clock.Time // from the times of Base to those of the show

	// kept is the input that came while following, newest last: what the other loop
	// may not have had yet counts after a take-over.
	kept     []keptInput
	given    []givenCommand // the other loop's last commands
	lastTick clock.Time     // when the other loop's last tick of the clock came

	counts *followCounts
}

// followCounts is FollowCounts as it is counted.
type followCounts struct {
	on                atomic.Bool
	frames, differing atomic.Uint64
	behind            atomic.Int64
}

func newFollowing(c *LoopConfig) following {
	f := following{waits: c.Follows, counts: &followCounts{}}
	if c.Followed != nil {
		f.kept, f.given = make([]keptInput, 0, maxKept), make([]givenCommand, 0, maxKept)
	}
	return f
}

type keptInput struct {
	in Input
	at clock.Time // when it came, in the show's times
}

type givenCommand struct {
	command Command
	at      clock.Time
}

const (
	// keepInput is for how long input is kept while following: longer than it takes to
	// see that the other loop is lost, and short, as it is all done at a take-over.
	keepInput = clock.Second
	maxKept   = 512
	// sameInput is how much earlier or later one computer may get the input that both
	// get: cables, drivers and the difference of their clocks.
	sameInput = 40 * clock.Millisecond
)

// FollowCounts returns how well the loop follows. Any goroutine may call it.
func (l *Loop) FollowCounts() FollowCounts {
	f := l.following.counts
	return FollowCounts{f.on.Load(), f.frames.Load(), f.differing.Load(), clock.Time(f.behind.Load())}
}

// now returns the time in the show's times.
func (l *Loop) now() clock.Time { return l.config.Base.Now() + l.following.shift }

// followOther follows the other loop while it has to, and sends slices by timer. It returns
// true if stop is closed meanwhile; false at once while this loop is live.
func (l *Loop) followOther(timer *time.Timer, stop <-chan struct{}) (stopped bool) {
	f := &l.following
	for {
		if f.replay == nil && !f.waits {
			select {
			case step := <-l.config.Followed:
				l.takeStep(&step)
				continue
			default:
				return false
			}
		}
		select {
		case step := <-l.config.Followed:
			l.takeStep(&step)
		case in := <-l.config.Input:
			l.keep(&in)
		case <-l.untilSlice(timer):
		case <-stop:
			return true
		}
		l.sendSlices(l.config.Base.Now())
	}
}

func (l *Loop) takeStep(step *Followed) {
	f := &l.following
	switch {
	case l.leaving:
	case step.Start != nil:
		f.setShift(l, step.Shift)
		l.startFollowing(step.Start)
	case f.replay == nil: // nothing to follow from, or live
	case step.TakeOver:
		f.setShift(l, step.Shift)
		l.goLive()
	default:
		f.setShift(l, step.Shift)
		l.followRecord(step)
	}
}

// setShift takes the span to the show's times. If they are other times than before, input
// that was kept is forgotten: when it came cannot be compared with them.
func (f *following) setShift(l *Loop, to clock.Time) {
	if gap := to - f.shift; max(gap, -gap) > keepInput {
		f.kept, f.given, f.lastTick = f.kept[:0], f.given[:0], 0
	}
	f.shift, l.board.shift = to, to
}

func (l *Loop) startFollowing(from *Restored) {
	f := &l.following
	f.replay, f.waits = ResumeReplay(from), false
	f.given = f.given[:0]
	f.counts.on.Store(true)
	l.engine, l.clock, l.edited = f.replay.engine, f.replay.clock, nil
	l.delayed = newDelayedUniverses(l.config.Leads, l.engine.prog.Patch.Universes(), l.rate)
	l.board.post(l.engine, f.replay.pos, &l.health)
}

// followRecord plays a record of the other loop.
func (l *Loop) followRecord(step *Followed) {
	f, rec := &l.following, &step.Record
	switch rec.Kind {
	case RecordFrame:
		l.followFrame(rec)
	case RecordDelayedFrame:
		if g := l.delayed.groupAt(rec.Delay, rec.Frame); g != nil {
			l.send(rec.At, l.delayed.universes(g), g.due)
			l.delayed.recordSent(g, rec.At)
		}
	case RecordReload:
		if step.Reload != nil {
			f.replay.Reload(step.Reload)
		}
	case RecordCommand:
		if len(f.given) >= maxKept {
			f.given = append(f.given[:0], f.given[1:]...)
		}
		f.given = append(f.given, givenCommand{rec.Command, rec.At})
		f.replay.PlayRecord(rec)
	default:
		if rec.Event.Kind == clock.Tick24 {
			f.lastTick = rec.Event.At
		}
		f.replay.PlayRecord(rec)
	}
}

func (l *Loop) followFrame(rec *Record) {
	f := &l.following
	u := f.replay.PlayRecord(rec)
	f.counts.frames.Add(1)
	if Sum(u) != rec.Sum {
		f.counts.differing.Add(1)
	}
	l.send(rec.At, u, l.delayed.lead)
	if l.delayed.count != int64(rec.Frame) { // the first, or records before it were lost
		l.delayed.startAt(rec.Frame)
	}
	l.delayed.keepFrame(rec.At, u)
	h := &f.replay.health
	l.health.Frames, l.health.Missed, l.health.Arrivals = h.Frames, h.Missed, h.Arrivals
	l.health.BarOffset = f.replay.evidence.barOffset(f.replay.pos.Tempo)
	l.health.Late = l.now() - rec.At
	f.counts.behind.Store(int64(l.health.Late))
	l.madeAt = rec.At
	l.keepShares()
	l.forgetInput(rec.At)
	l.board.post(l.engine, f.replay.pos, &l.health)
}

// keep keeps input that came while following. An edited program is not taken: the other
// loop's counts.
func (l *Loop) keep(in *Input) {
	f := &l.following
	if in.Reload != nil {
		return
	}
	if len(f.kept) >= maxKept {
		f.kept = append(f.kept[:0], f.kept[1:]...)
	}
	k := keptInput{*in, l.now()}
	k.in.moveBy(f.shift)
	f.kept = append(f.kept, k)
}

// keepShares keeps the input of the shares.
func (l *Loop) keepShares() {
	for _, s := range l.config.Shares {
		for range len(s.From) {
			in := <-s.From
			l.keep(&in)
		}
	}
}

// forgetInput drops the input that came long before a time.
func (l *Loop) forgetInput(now clock.Time) {
	f := &l.following
	n := 0
	for n < len(f.kept) && f.kept[n].at < now-keepInput {
		n++
	}
	f.kept = append(f.kept[:0], f.kept[n:]...)
}

// goLive goes on from the last record, with the input that the other loop had not yet.
func (l *Loop) goLive() {
	f := &l.following
	to := f.replay.TakeOver()
	last := to.Info.At
	l.engine, l.clock, l.lead = to.frames.engine, to.frames.clock, to.frames.lead
	l.takeOver(to)
	f.replay = nil
	f.counts.on.Store(false)
	now := l.now()
	l.grid.start(now, l.rate)
	l.checkpointing = checkpointing{changed: true} // its times may be those of another show
	l.refreshLevels()                              // the other loop may not have received them
	period := l.clock.At(last).Tempo.Span(clock.Tick)
	for i := range f.kept {
		k := &f.kept[i]
		if k.in.Event.Kind == clock.Tick24 && k.in.Event.At < f.lastTick+period/2 || k.at < last-sameInput || f.wasGiven(k) {
			continue
		}
		l.takeInput(&k.in, now)
	}
	f.kept, f.given = f.kept[:0], f.given[:0]
}

// wasGiven reports whether the other loop had a command that came here too, so that it
// counts once.
func (f *following) wasGiven(k *keptInput) bool {
	for i := range f.given {
		g := &f.given[i]
		if gap := g.at - k.at; k.in.Command.Kind != 0 && g.command == k.in.Command && max(gap, -gap) <= sameInput {
			g.command.Kind = 0 // the next one like it is another
			return true
		}
	}
	return false
}

// moveBy moves the times in an input.
func (in *Input) moveBy(shift clock.Time) {
	if shift == 0 {
		return
	}
	in.Event.At += shift
	if in.At != 0 {
		in.At += shift
	}
}
