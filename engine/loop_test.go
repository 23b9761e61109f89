package engine

import (
	"context"
	"slices"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/clock"
)

// gig is a loop in a bubble of fake time, with a channel for a port and
// recorders for outputs. Everything in it is exact: a wake is never late.
type gig struct {
	t       *testing.T
	base    clock.Base
	input   chan Input
	loop    *Loop
	cancel  context.CancelFunc
	done    chan error
	outputs []*recorder
}

// play starts a loop on the hall. adjust may be nil.
func play(t *testing.T, adjust func(*LoopConfig), outputs ...*recorder) *gig {
	g := &gig{t: t, base: clock.NewBase(), input: make(chan Input, 256), done: make(chan error, 1), outputs: outputs}
	c := LoopConfig{
		Engine: New(hall(t)), Clock: clock.NewTransport(clock.Config{}), Base: g.base, Input: g.input,
	}
	for _, o := range outputs {
		c.Outputs = append(c.Outputs, o)
	}
	if adjust != nil {
		adjust(&c)
	}
	g.loop = NewLoop(c)
	ctx, cancel := context.WithCancel(context.Background())
	g.cancel = cancel
	go func() { g.done <- g.loop.Run(ctx) }()
	return g
}

// until lets fake time pass to a moment.
func (g *gig) until(at clock.Time) {
	time.Sleep(g.base.Until(at))
	synctest.Wait()
}

func (g *gig) command(c Command)      { g.input <- Input{Command: c} }
func (g *gig) event(k clock.Kind)     { g.input <- Input{Event: clock.Event{At: g.base.Now(), Kind: k}} }
func (g *gig) snapshot() (s Snapshot) { g.loop.Snapshot(&s); return s }

// end ends the loop and returns what Run did.
func (g *gig) end() error {
	g.cancel()
	return <-g.done
}

// ticks sends MIDI ticks at a tempo in quarters a minute until a moment, from
// which it leaves off. Each is stamped as it is sent.
func (g *gig) ticks(bpm float64, from, to clock.Time, each func(n int)) {
	period := 60 / bpm / 24 * float64(clock.Second)
	for n := 0; ; n++ {
		at := from + clock.Time(float64(n)*period)
		if at >= to {
			return
		}
		g.until(at)
		if each != nil {
			each(n)
		}
		g.event(clock.Tick24)
	}
}

// 44 frames a second for an hour, and the one at the start: 158,401.
func TestLoopFakeHour(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := &recorder{keep: 45}
		g := play(t, nil, r)
		g.until(3600 * clock.Second)
		got := r.seen()
		assert.Equal(t, 158_401, got.sent, "frames in an hour")
		last := got.at[44]
		assert.Equal(t, 3600*clock.Second, last, "the last frames went out from %v", got.at[0].Sub(0))
		assert.Equal(t, clock.Second, last-got.at[0], "the last frames went out from %v", got.at[0].Sub(0))
		h := g.snapshot().Health
		assert.EqualValues(t, 158_401, h.Frames, "health")
		assert.Zero(t, h.Missed, "health")
		assert.Zero(t, h.Errors, "health")
		assert.Zero(t, h.WorstAt, "health")
		assert.NoError(t, g.end())
	})
}

// Every note's first frame goes out within one frame of the note: 22.7 ms.
func TestLoopCueWithinOneFrameOfItsNote(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		const frame = clock.Second/44 + 1
		r := &recorder{}
		g := play(t, nil, r)
		g.command(Command{Kind: SelectSong, Index: 0})
		notes := map[int]int32{} // by tick: chorus 1 and bridge in turn, both at once
		for i := range 40 {      // and two beats and a bit apart
			notes[24+i*49] = int32(62 + i%2)
		}
		var at []clock.Time
		g.ticks(120, clock.Second, 45*clock.Second, func(n int) {
			if n == 0 {
				g.event(clock.Start)
			}
			if note, ok := notes[n]; ok {
				g.command(Command{Kind: FireNote, Index: note})
				at = append(at, g.base.Now())
			}
		})
		assert.NoError(t, g.end())
		require.Len(t, at, 40, "notes sent")
		got := r.seen()
		for i, note := range at {
			// The washes are red in the chorus and green in the bridge. What was
			// there before the first note is both.
			if i == 0 {
				continue
			}
			colour := i % 2
			f := slices.IndexFunc(got.at, func(sent clock.Time) bool { return sent >= note })
			require.GreaterOrEqual(t, f, 1, "note %d: its light was there before it", i)
			require.Zero(t, got.frames[f-1].Slots[colour], "note %d: its light was there before it", i)
			for got.frames[f].Slots[colour] == 0 {
				f++
			}
			assert.LessOrEqual(t, got.at[f]-note, frame, "note %d at %v: time from it to its first frame", i, note.Sub(0))
		}
	})
}

// A cue by song position goes out on the first frame at or behind its beat, and
// with a lead on the last one that is not more than the lead ahead.
func TestLoopCueByPosition(t *testing.T) {
	for _, lead := range []clock.Time{0, 20 * clock.Millisecond} {
		synctest.Test(t, func(t *testing.T) {
			r := &recorder{}
			g := play(t, func(c *LoopConfig) { c.Lead = lead }, r)
			g.command(Command{Kind: SelectSong, Index: 0})
			const start = clock.Second
			g.ticks(120, start, 14*clock.Second, func(n int) {
				if n == 0 {
					g.event(clock.Start)
				}
			})
			assert.NoError(t, g.end())
			// chorus 1 is at beat 24, 12 s after the start: washes snap to red.
			downbeat := start + 12*clock.Second - lead
			got := r.seen()
			for f, at := range got.at {
				u := &got.frames[f]
				red := u.Slots[0] == 255 && u.Slots[2] == 0
				if late := at - downbeat; red && at > 11*clock.Second {
					assert.GreaterOrEqual(t, late, -clock.Microsecond, "lead %v", lead.Sub(0))
					assert.LessOrEqual(t, late, clock.Second/44, "lead %v", lead.Sub(0))
					return
				}
			}
			assert.Fail(t, "full never came")
		})
	}
}

// An output that fails is counted and goes on being tried; the others are
// served all the same.
func TestLoopOutputErrors(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		good, bad, behind := &recorder{}, &recorder{fail: errWire}, &recorder{}
		g := play(t, nil, good, bad, behind)
		g.until(clock.Second)
		for i, o := range g.outputs {
			assert.Equal(t, 45, o.seen().sent, "output %d: frames in a second", i)
		}
		h := g.snapshot().Health
		assert.EqualValues(t, 45, h.Errors, "health")
		assert.ErrorIs(t, h.LastErr, errWire, "health")
		assert.Zero(t, h.LastGood, "health")
		bad.set(nil, false)
		g.until(2 * clock.Second)
		h = g.snapshot().Health
		assert.EqualValues(t, 45, h.Errors, "health once it works again")
		assert.NoError(t, h.LastErr, "health once it works again")
		assert.Equal(t, 2*clock.Second, h.LastGood, "health once it works again")
		bad.set(errWire, false)
		assert.ErrorIs(t, g.end(), errWire, "Run")
		for i, o := range g.outputs {
			n := o.seen().closed
			assert.Equal(t, 1, n, "output %d was closed %d times", i, n)
		}
	})
}

// When the context ends the light fades over Goodbye, the last frame is dark
// but for what is spared, and then the outputs close, once.
func TestLoopGoodbye(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := &recorder{}
		g := play(t, func(c *LoopConfig) {
			c.Goodbye = 2*clock.Second + 20*clock.Millisecond
			c.Lead = 15 * clock.Millisecond
		}, r)
		g.until(clock.Second)
		require.EqualValues(t, 0x99, r.seen().last(11), "front before the end")
		g.cancel()
		g.until(2 * clock.Second)
		got := r.seen()
		assert.GreaterOrEqual(t, got.last(11), byte(0x48), "half way")
		assert.LessOrEqual(t, got.last(11), byte(0x50), "half way")
		assert.Zero(t, got.closed, "half way")
		g.command(Command{Kind: GrandMaster, Level: 1}) // too late for that
		assert.NoError(t, <-g.done)
		took, got := g.base.Now()-clock.Second, r.seen()
		assert.GreaterOrEqual(t, took, 2*clock.Second)
		assert.LessOrEqual(t, took, 2*clock.Second+30*clock.Millisecond)
		assert.Equal(t, 1, got.closed)
		assert.Zero(t, got.last(11), "the last frame")
		assert.Zero(t, got.last(1), "the last frame")
		assert.EqualValues(t, 0x80, got.last(12), "the last frame")
		assert.EqualValues(t, 0x40, got.last(13), "the last frame")
	})
}

// Without a goodbye the light is left as it is.
func TestLoopLeavesTheLightWithoutGoodbye(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := &recorder{}
		g := play(t, nil, r)
		g.until(clock.Second + 10*clock.Millisecond)
		assert.NoError(t, g.end())
		got := r.seen()
		assert.Equal(t, 45, got.sent)
		assert.EqualValues(t, 0x99, got.last(11))
		assert.Equal(t, 1, got.closed)
	})
}

// A context that cannot end does not end the loop.
func TestLoopContextWithoutEnd(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := &recorder{}
		l := NewLoop(LoopConfig{
			Engine: New(hall(t)), Clock: clock.NewTransport(clock.Config{}), Base: clock.NewBase(), Outputs: []Output{r},
		})
		go l.Run(context.Background())
		time.Sleep(time.Second)
		synctest.Wait()
		got := r.seen()
		assert.Equal(t, 45, got.sent)
		assert.Zero(t, got.closed)
		r.set(nil, true)
		time.Sleep(time.Second)
	})
}

// The light rises from dark, so that nobody is dazzled and no breaker trips.
func TestLoopRise(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := &recorder{}
		g := play(t, func(c *LoopConfig) { c.Rise = 2 * clock.Second }, r)
		g.until(0)
		got := r.seen()
		assert.Equal(t, 1, got.sent, "first frame: it is spared")
		assert.Zero(t, got.last(11), "first frame: it is spared")
		assert.EqualValues(t, 0x80, got.last(12), "first frame: it is spared")
		for i, last := 1, byte(0); i <= 20; i++ {
			g.until(clock.Time(i) * 100 * clock.Millisecond)
			if now := r.seen().last(11); assert.GreaterOrEqual(t, now, last) {
				last = now
			}
		}
		assert.EqualValues(t, 0x99, r.seen().last(11), "after the rise")
		g.end()
	})
}

// A flood of input holds up neither the frames nor those that send.
func TestLoopFlood(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := &recorder{}
		g := play(t, nil, r)
		stop, sent := make(chan struct{}), 0
		flooded := make(chan struct{})
		go func() {
			defer close(flooded)
			for {
				select {
				case g.input <- Input{Event: clock.Event{At: g.base.Now(), Kind: clock.Tap}, Command: Command{Kind: Hold}}:
					sent++
				case <-stop:
					return
				}
			}
		}()
		g.until(10 * clock.Second)
		close(stop)
		<-flooded
		assert.Equal(t, 441, r.seen().sent, "frames in 10 s of flood")
		want := 441 * cap(g.input)
		assert.GreaterOrEqual(t, sent, want)
		assert.LessOrEqual(t, sent, want+cap(g.input))
		g.end()
	})
}

// A reader that sits on the snapshot's lock delays no frame; it just sees an
// older one.
func TestLoopBusyReader(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := &recorder{}
		g := play(t, nil, r)
		g.until(clock.Second)
		g.loop.board.mu.Lock()
		g.until(3 * clock.Second)
		seen := g.loop.board.last.Health.Frames
		g.loop.board.mu.Unlock()
		assert.Equal(t, 133, r.seen().sent)
		assert.EqualValues(t, 45, seen)
		g.until(4 * clock.Second)
		s := g.snapshot()
		assert.EqualValues(t, 177, s.Health.Frames, "a second later the snapshot is of frame")
		if assert.Len(t, s.Universes, 1, "a second later the snapshot is of frame") {
			assert.Equal(t, r.seen().frames[176], s.Universes[0], "a second later the snapshot is of frame")
		}
		g.end()
	})
}

// Before the first frame a snapshot says that nothing plays.
func TestSnapshotBeforeTheFirstFrame(t *testing.T) {
	l := NewLoop(LoopConfig{Engine: New(hall(t)), Clock: clock.NewTransport(clock.Config{}), Base: clock.NewBase()})
	var s Snapshot
	l.Snapshot(&s)
	assert.Equal(t, None, s.Status.Song, "status")
	assert.Equal(t, None, s.Status.Cue, "status")
	assert.Equal(t, None, s.Status.Section, "status")
	assert.Equal(t, None, s.Status.Armed, "status")
	assert.Len(t, s.Heads, hallHeads)
	assert.Len(t, s.Universes, 1)
}

// The worst lateness stays until a reader has seen it, also when it was busy
// at the frame that was late.
func TestWorstLatenessIsNotLost(t *testing.T) {
	e := New(hall(t))
	var b board
	b.mu.Lock()
	h := Health{Late: 9 * clock.Millisecond}
	b.post(e, clock.Position{}, &h)
	b.mu.Unlock()
	h.Late = clock.Millisecond
	b.post(e, clock.Position{}, &h)
	var s Snapshot
	b.read(&s)
	assert.Equal(t, 9*clock.Millisecond, s.Health.WorstAt, "worst")
	b.post(e, clock.Position{}, &h)
	b.read(&s)
	assert.Equal(t, clock.Millisecond, s.Health.WorstAt, "worst")
}

func TestNewLoopRefusesRates(t *testing.T) {
	for _, rate := range []int{-1, 45} {
		func() {
			defer func() {
				assert.NotNil(t, recover(), "%d frames a second was taken", rate)
			}()
			NewLoop(LoopConfig{Engine: New(hall(t)), Rate: rate})
		}()
	}
}

// A wait of the system's own drives the same frames, and the show still stops.
func TestLoopWithAWaitOfItsOwn(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := &recorder{}
		waits := 0
		g := play(t, func(c *LoopConfig) {
			base := c.Base
			c.Wait = func(until clock.Time) {
				waits++
				time.Sleep(base.Until(until))
			}
			c.Goodbye = clock.Second
		}, r)
		g.until(10 * clock.Second)
		assert.Equal(t, 441, r.seen().sent, "frames in 10 s")
		g.cancel()
		assert.NoError(t, <-g.done)
		got := r.seen()
		assert.Equal(t, 1, got.closed)
		assert.Zero(t, got.last(11))
		assert.GreaterOrEqual(t, waits, got.sent)
	})
}
