package engine

import (
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tactus/clock"
	"tactus/fixtures"
	"tactus/protocol/dmx"
)

// follower is a loop that follows another one in the same bubble.
type follower struct {
	loop  *Loop
	steps chan Followed
	input chan Input
	tape  *tape
	base  clock.Base
	shift clock.Time // from its base to the leader's
	stop  func()
}

// follow starts a follower of the loop that made a checkpoint by base; its own clock is
// behind that one by apart.
func follow(rt require.TestingT, e *evening, show *Program, checkpoint []byte, base clock.Base, apart clock.Time) *follower {
	f := &follower{steps: make(chan Followed, 1<<16), input: make(chan Input, 1<<10), tape: &tape{}, base: base.Shifted(-apart)}
	f.shift = apart
	from, err := RestoreCheckpoint(show, checkpoint)
	require.NoError(rt, err)
	f.steps <- Followed{Start: from, Shift: f.shift}
	c := e.config(f.base, f.input, nil)
	c.Engine, c.Clock = New(show), clock.NewTransport(clock.Config{Ahead: e.most() + 50*clock.Millisecond})
	c.Outputs, c.Followed, c.Follows, c.Goodbye = []Output{f.tape}, f.steps, true, 0
	f.loop = NewLoop(c)
	f.stop = start(f.loop)
	return f
}

// A loop that follows makes the same frames and remembers the same, whatever happens; and
// it sends them as they come.
func TestFollowingEqualsLive(t *testing.T) {
	p := asPlayed(t)
	rapid.Check(t, func(rt *rapid.T) {
		show := anyHall(rt, *p)
		e := evenings().Draw(rt, "evening")
		records, checkpoints, end := e.kept(t, show)
		at := rapid.IntRange(0, len(checkpoints)-1).Draw(rt, "checkpoint")
		synctest.Test(t, func(*testing.T) {
			f := follow(rt, &e, show, checkpoints[at], clock.NewBase(), 7*clock.Second)
			after, frames := false, 0
			var sent []Record // those that send a frame which the follower made
			for i := range records {
				if rec := &records[i]; after {
					f.steps <- Followed{Record: *rec, Shift: f.shift}
					if rec.Kind == RecordFrame {
						frames++
					}
					if rec.Kind == RecordFrame || rec.Kind == RecordDelayedFrame && rec.Frame > uint64(at) {
						sent = append(sent, *rec)
					}
				} else {
					after = rec.Kind == RecordFrame && rec.Frame == uint64(at)
				}
			}
			synctest.Wait()
			f.stop()
			counts := f.loop.FollowCounts()
			require.EqualValues(rt, frames, counts.Frames)
			require.Zero(rt, counts.Differing, "of %d frames", frames)
			require.Len(rt, f.tape.all(), len(sent))
			light := map[uint64][]dmx.Universe{} // by frame
			for i, s := range f.tape.all() {
				if rec := &sent[i]; rec.Kind == RecordFrame {
					light[rec.Frame] = s.u
				} else {
					require.Equal(rt, light[rec.Frame], s.u, "frame %d, later to universes with less lead", rec.Frame)
				}
			}
			require.Equal(rt, stored(end, show), stored(&f.loop.engine.memory, show), "what both remember")
		})
	})
}

// playSong starts a song's music by MIDI clock at 120 BPM, for a number of ticks. It runs
// in a synctest bubble.
func playSong(base clock.Base, inputs []chan Input, ticks int, from clock.Time) (next clock.Time) {
	const period = clock.Second / 48 // 120 BPM
	for i := range ticks {
		at := from + clock.Time(i)*period
		time.Sleep(base.Until(at))
		synctest.Wait()
		for n, c := range inputs {
			// Each computer has its own cable: up to 3 ms apart.
			c <- Input{Event: clock.Event{At: at + clock.Time(n)*3*clock.Millisecond, Kind: clock.Tick24}}
		}
	}
	return from + clock.Time(ticks)*period
}

// A loop that takes over is on the lamps within a frame, stays on the beat, and goes on
// with its own clock where that left off; without a clock it carries on by itself.
func TestTakeOver(t *testing.T) {
	for name, hears := range map[string]bool{"both hear the clock": true, "only the leader hears it": false} {
		t.Run(name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				show, e := asPlayed(t), &evening{}
				base, input, j := clock.NewBase(), make(chan Input, 1<<10), NewJournal(1<<16)
				c := e.config(base, input, j)
				c.Engine, c.Clock = New(show), clock.NewTransport(clock.Config{Ahead: 50 * clock.Millisecond})
				leader := NewLoop(c)
				stop := start(leader)
				input <- Input{Command: Command{Kind: NextSong}}
				input <- Input{Event: clock.Event{At: base.Now(), Kind: clock.Start}}
				next := playSong(base, []chan Input{input}, 96, base.Now()+10*clock.Millisecond)

				leader.RequestCheckpoint()
				const apart = 3 * clock.Second
				var f *follower
				done := make(chan struct{})
				go func() {
					defer close(done)
					for r := range j.Records() {
						switch {
						case r.Kind == RecordCheckpoint:
							f = follow(t, e, show, r.Checkpoint, base, apart)
						case f != nil && r.Kind != RecordEnd:
							f.steps <- Followed{Record: r, Shift: f.shift}
						}
					}
				}()
				time.Sleep(100 * time.Millisecond)
				synctest.Wait()
				require.NotNil(t, f)
				all, ours := []chan Input{input}, make(chan Input, 1<<10)
				if hears {
					all = append(all, ours)
					go func() { // stamps of the follower's own base
						for in := range ours {
							in.Event.At -= apart
							f.input <- in
						}
					}()
				}
				next = playSong(base, all, 96, next)
				counts := f.loop.FollowCounts()
				require.True(t, counts.Following)
				require.Positive(t, counts.Frames)
				require.Zero(t, counts.Differing)

				var before Snapshot
				leader.Snapshot(&before)
				stop() // the leader is lost
				j.Close()
				<-done
				if hears {
					all = []chan Input{nil, ours}
					all[0] = make(chan Input, 1<<10)
				} else {
					all = []chan Input{make(chan Input, 1<<10)}
				}
				next = playSong(base, all, 7, next) // 146 ms until it is noticed
				sent, lost := len(f.tape.all()), base.Now()
				f.steps <- Followed{TakeOver: true, Shift: f.shift}
				time.Sleep(30 * time.Millisecond)
				synctest.Wait()
				require.Greater(t, len(f.tape.all()), sent, "a frame within 30 ms")
				playSong(base, all, 96, next)
				synctest.Wait()
				var s Snapshot
				f.loop.Snapshot(&s)
				f.stop()
				assert.True(t, s.Pos.Playing)
				assert.Equal(t, hears, s.Pos.Sync == clock.Locked, "%v", s.Pos.Sync)
				off := clock.BPM(120).Span(s.Pos.Beat-before.Pos.Beat) - (s.Pos.At + apart - before.Pos.At)
				assert.Less(t, max(off, -off), 5*clock.Millisecond, "off the beat %v after the leader was lost; beat %v at %v", (s.Pos.At + apart - before.Pos.At).Sub(0), s.Pos.Beat, s.Pos.At)
				assert.Greater(t, len(f.tape.all())-sent, int(40*(base.Now()-lost)/clock.Second), "frames since")
				close(ours)
			})
		})
	}
}

// What came to both computers counts once, and what came after the leader's last record
// is not lost.
func TestCommandsAroundATakeOver(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		show, e := asPlayed(t), &evening{}
		base, input, j := clock.NewBase(), make(chan Input, 16), NewJournal(1<<16)
		c := e.config(base, input, j)
		c.Engine, c.Clock = New(show), clock.NewTransport(clock.Config{})
		leader := NewLoop(c)
		leader.RequestCheckpoint()
		stop := start(leader)
		time.Sleep(100 * time.Millisecond)
		synctest.Wait()
		var f *follower
		feed := func() {
			for len(j.Records()) > 0 {
				switch r := <-j.Records(); {
				case r.Kind == RecordCheckpoint:
					f = follow(t, e, show, r.Checkpoint, base, 0)
				case f != nil && r.Kind != RecordEnd:
					f.steps <- Followed{Record: r}
				}
			}
		}
		feed()
		give := func(c chan Input, k CommandKind) { c <- Input{Command: Command{Kind: k}} }
		give(input, NextSong) // comes to both at once
		give(f.input, NextSong)
		time.Sleep(25 * time.Millisecond)
		synctest.Wait()
		feed()
		synctest.Wait()
		stop()
		feed()
		time.Sleep(100 * time.Millisecond)
		give(f.input, Hold) // comes when the leader is lost, and that is not known yet
		time.Sleep(50 * time.Millisecond)
		synctest.Wait()
		f.steps <- Followed{TakeOver: true}
		time.Sleep(50 * time.Millisecond)
		synctest.Wait()
		var s Snapshot
		f.loop.Snapshot(&s)
		f.stop()
		assert.Equal(t, 0, s.Status.Place, "the first song of the set, not the second")
		assert.True(t, s.Status.Held, "held")
	})
}

// A loop that was live follows when it is told to, and can go live again.
func TestLiveLoopFollowsAgain(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		show, e := asPlayed(t), &evening{}
		base, j := clock.NewBase(), NewJournal(1<<16)
		c := e.config(base, make(chan Input), j)
		c.Engine, c.Clock = New(show), clock.NewTransport(clock.Config{})
		leader := NewLoop(c)
		stop := start(leader)
		leader.RequestCheckpoint()
		time.Sleep(time.Second)
		synctest.Wait()
		steps := make(chan Followed, 1<<10)
		back := &tape{}
		c = e.config(base.Shifted(5*clock.Second), make(chan Input), nil)
		c.Engine, c.Clock, c.Followed, c.Outputs = New(show), clock.NewTransport(clock.Config{}), steps, []Output{back}
		other := NewLoop(c)
		stopOther := start(other)
		time.Sleep(time.Second)
		synctest.Wait()
		assert.InDelta(t, 44, len(back.all()), 1, "it is live")
		for len(j.Records()) > 0 {
			switch r := <-j.Records(); r.Kind {
			case RecordCheckpoint:
				from, err := RestoreCheckpoint(show, r.Checkpoint)
				require.NoError(t, err)
				steps <- Followed{Start: from, Shift: -5 * clock.Second}
			default:
				steps <- Followed{Record: r, Shift: -5 * clock.Second}
			}
		}
		time.Sleep(100 * time.Millisecond)
		synctest.Wait()
		counts, sent := other.FollowCounts(), len(back.all())
		assert.True(t, counts.Following)
		assert.InDelta(t, 87, counts.Frames, 1, "those after the first, which the checkpoint has")
		assert.Zero(t, counts.Differing)
		steps <- Followed{TakeOver: true, Shift: -5 * clock.Second}
		time.Sleep(time.Second)
		synctest.Wait()
		assert.False(t, other.FollowCounts().Following)
		assert.InDelta(t, 44, len(back.all())-sent, 1, "live again")
		for i := 1; i < len(back.all()); i++ {
			gap := back.all()[i].at - back.all()[i-1].at
			assert.Less(t, max(gap, -gap), 2100*clock.Millisecond, "sent at times of its own base; the frames of the two seconds before come late here")
		}
		stopOther()
		stop()
	})
}

// otherShow returns the first steps of a loop that has just begun: its state after a frame,
// and a frame at a time of this loop's base.
func otherShow(t *testing.T, show *Program, at, shift clock.Time) (first, frame Followed) {
	l := NewLoop(LoopConfig{Engine: New(show), Clock: clock.NewTransport(clock.Config{}), Base: clock.NewBase()})
	l.start(0)
	l.step(0)
	from, err := RestoreCheckpoint(show, l.AppendCheckpoint(nil))
	require.NoError(t, err)
	return Followed{Start: from, Shift: shift}, Followed{Record: Record{Kind: RecordFrame, At: at + shift}, Shift: shift}
}

// A loop that was live, follows, and goes live again has the levels that it receives, also
// those that the other loop did not receive.
func TestLevelsThatTheOtherLoopLacked(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		show := faderStage(t, TakesHighest, lamps, false).engine.prog
		box, steps, base := &LevelBox{}, make(chan Followed, 8), clock.NewBase()
		l := NewLoop(LoopConfig{Engine: New(show), Clock: clock.NewTransport(clock.Config{}), Base: base, Levels: []*LevelBox{box}, Followed: steps})
		stop := start(l)
		levelIs := func(want float64, when string) {
			time.Sleep(3 * time.Second)
			synctest.Wait()
			var s Snapshot
			l.Snapshot(&s)
			assert.InDelta(t, want, s.Heads[lamp1][fixtures.Intensity], 1e-9, when)
		}
		levels := [dmx.Slots]byte{2: 204}
		box.Put(true, &levels)
		levelIs(0.8, "live")
		first, frame := otherShow(t, show, base.Now(), 0)
		steps <- first
		steps <- frame
		levelIs(0.6, "following a loop without the levels")
		steps <- Followed{TakeOver: true}
		levelIs(0.8, "live again")
		stop()
	})
}

// A loop whose own times are an hour ahead of the show's that it follows keeps checkpoints
// once it is live, and does nothing then that it was asked before it followed.
func TestTimesOfAnotherShow(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		show, k := asPlayed(t), &keeper{buffer: []byte{}}
		const ahead = clock.Time(3600) * clock.Second
		steps, input, base := make(chan Followed, 8), make(chan Input, 8), clock.NewBase().Shifted(ahead)
		c := LoopConfig{Engine: New(show), Clock: clock.NewTransport(clock.Config{}), Base: base, Input: input, Followed: steps, Checkpoints: k}
		for _, waits := range [...]bool{false, true} {
			c.Follows = waits
			l := NewLoop(c)
			stop := start(l)
			time.Sleep(time.Second)
			synctest.Wait()
			if waits {
				input <- Input{Command: Command{Kind: Blackout}}
				synctest.Wait()
			}
			first, frame := otherShow(t, show, base.Now(), -ahead)
			steps <- first
			steps <- frame
			steps <- Followed{TakeOver: true, Shift: -ahead}
			synctest.Wait()
			before := len(k.all())
			time.Sleep(time.Second)
			synctest.Wait()
			assert.InDelta(t, 44, len(k.all())-before, 2, "checkpoints in a second")
			var s Snapshot
			l.Snapshot(&s)
			assert.False(t, s.Status.Blackout)
			stop()
			c.Engine, c.Clock = New(show), clock.NewTransport(clock.Config{})
		}
	})
}

func TestFollowingAllocs(t *testing.T) {
	show := asPlayed(t)
	l := NewLoop(LoopConfig{Engine: New(show), Clock: clock.NewTransport(clock.Config{}), Base: clock.NewBase(), Followed: make(chan Followed), Follows: true})
	c := checkpoint{frames: &l.frames, evidence: &l.evidence, health: &l.health}
	from, err := RestoreCheckpoint(show, c.append(nil))
	require.NoError(t, err)
	l.takeStep(&Followed{Start: from})
	now := clock.Time(0)
	n := uint64(0)
	frame := func() {
		now += clock.Second / 44
		l.takeStep(&Followed{Record: Record{Kind: RecordCommand, At: now, Command: Command{Kind: Hold}}})
		l.takeStep(&Followed{Record: Record{Kind: RecordFrame, At: now, Frame: n}})
		l.keep(&Input{Command: Command{Kind: Hold}})
		n++
	}
	frame()
	assert.Zero(t, testing.AllocsPerRun(2000, frame))
}
