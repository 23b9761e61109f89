package engine

import (
	"context"
	"errors"
	"slices"
	"testing"
	"testing/synctest"
	"time"

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
		if got.sent != 158_401 {
			t.Errorf("%d frames in an hour, want 158,401", got.sent)
		}
		if last := got.at[44]; last != 3600*clock.Second || last-got.at[0] != clock.Second {
			t.Errorf("the last frames went out from %v to %v", got.at[0].Sub(0), last.Sub(0))
		}
		h := g.snapshot().Health
		if h.Frames != 158_401 || h.Missed != 0 || h.Errors != 0 || h.WorstAt != 0 {
			t.Errorf("health: %+v", h)
		}
		if err := g.end(); err != nil {
			t.Error(err)
		}
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
		if err := g.end(); err != nil {
			t.Error(err)
		}
		if len(at) != 40 {
			t.Fatalf("%d notes sent", len(at))
		}
		got := r.seen()
		for i, note := range at {
			// The washes are red in the chorus and green in the bridge. What was
			// there before the first note is both.
			if i == 0 {
				continue
			}
			colour := i % 2
			f := slices.IndexFunc(got.at, func(sent clock.Time) bool { return sent >= note })
			if f < 1 || got.frames[f-1].Slots[colour] != 0 {
				t.Fatalf("note %d: its light was there before it", i)
			}
			for got.frames[f].Slots[colour] == 0 {
				f++
			}
			if late := got.at[f] - note; late > frame {
				t.Errorf("note %d at %v: first frame %v later", i, note.Sub(0), late.Sub(0))
			}
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
			if err := g.end(); err != nil {
				t.Error(err)
			}
			// chorus 1 is at beat 24, 12 s after the start: washes snap to red.
			downbeat := start + 12*clock.Second - lead
			got := r.seen()
			for f, at := range got.at {
				u := &got.frames[f]
				red := u.Slots[0] == 255 && u.Slots[2] == 0
				if late := at - downbeat; red && at > 11*clock.Second {
					if late < -clock.Microsecond || late > clock.Second/44 {
						t.Errorf("lead %v: full came %v after its downbeat", lead.Sub(0), late.Sub(0))
					}
					return
				}
			}
			t.Error("full never came")
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
			if n := o.seen().sent; n != 45 {
				t.Errorf("output %d: %d frames in a second, want 45", i, n)
			}
		}
		h := g.snapshot().Health
		if h.Errors != 45 || !errors.Is(h.LastErr, errWire) || h.LastGood != 0 {
			t.Errorf("health: %+v", h)
		}
		bad.set(nil, false)
		g.until(2 * clock.Second)
		h = g.snapshot().Health
		if h.Errors != 45 || h.LastErr != nil || h.LastGood != 2*clock.Second {
			t.Errorf("health once it works again: %+v", h)
		}
		bad.set(errWire, false)
		if err := g.end(); !errors.Is(err, errWire) {
			t.Errorf("Run: %v, want what Close said", err)
		}
		for i, o := range g.outputs {
			if n := o.seen().closed; n != 1 {
				t.Errorf("output %d was closed %d times", i, n)
			}
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
		if got := r.seen().last(11); got != 0x99 {
			t.Fatalf("front at %x before the end", got)
		}
		g.cancel()
		g.until(2 * clock.Second)
		if got := r.seen(); got.last(11) < 0x48 || got.last(11) > 0x50 || got.closed != 0 {
			t.Errorf("half way: front at %x, want about 4c; closed %d times", got.last(11), got.closed)
		}
		g.command(Command{Kind: GrandMaster, Level: 1}) // too late for that
		if err := <-g.done; err != nil {
			t.Error(err)
		}
		took, got := g.base.Now()-clock.Second, r.seen()
		if took < 2*clock.Second || took > 2*clock.Second+30*clock.Millisecond || got.closed != 1 {
			t.Errorf("the goodbye took %v and closed %d times", took.Sub(0), got.closed)
		}
		if got.last(11) != 0 || got.last(1) != 0 || got.last(12) != 0x80 || got.last(13) != 0x40 {
			t.Errorf("the last frame: front %x, wash %x, want 0; house %x, want 80, haze %x, want 40",
				got.last(11), got.last(1), got.last(12), got.last(13))
		}
	})
}

// Without a goodbye the light is left as it is.
func TestLoopLeavesTheLightWithoutGoodbye(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := &recorder{}
		g := play(t, nil, r)
		g.until(clock.Second + 10*clock.Millisecond)
		if err := g.end(); err != nil {
			t.Error(err)
		}
		if got := r.seen(); got.sent != 45 || got.last(11) != 0x99 || got.closed != 1 {
			t.Errorf("%d frames, front %x, closed %d times; want 45, 99 and once", got.sent, got.last(11), got.closed)
		}
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
		if got := r.seen(); got.sent != 45 || got.closed != 0 {
			t.Errorf("%d frames in a second, want 45; closed %d times", got.sent, got.closed)
		}
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
		if got := r.seen(); got.sent != 1 || got.last(11) != 0 || got.last(12) != 0x80 {
			t.Errorf("first frame: front %x, want 0; house %x, want 80: it is spared", got.last(11), got.last(12))
		}
		for i, last := 1, byte(0); i <= 20; i++ {
			g.until(clock.Time(i) * 100 * clock.Millisecond)
			if now := r.seen().last(11); now < last {
				t.Errorf("the rise sinks from %x to %x", last, now)
			} else {
				last = now
			}
		}
		if got := r.seen().last(11); got != 0x99 {
			t.Errorf("after the rise: front %x, want 99", got)
		}
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
		if n := r.seen().sent; n != 441 {
			t.Errorf("%d frames in 10 s of flood, want 441", n)
		}
		if want := 441 * cap(g.input); sent < want || sent > want+cap(g.input) {
			t.Errorf("%d inputs were taken, want the channel's %d a frame: %d", sent, cap(g.input), want)
		}
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
		if n := r.seen().sent; n != 133 || seen != 45 {
			t.Errorf("%d frames while the reader saw number %d; want 133 and 45", n, seen)
		}
		g.until(4 * clock.Second)
		s := g.snapshot()
		if s.Health.Frames != 177 || len(s.Universes) != 1 || s.Universes[0] != r.seen().frames[176] {
			t.Errorf("a second later the snapshot is of frame %d", s.Health.Frames)
		}
		g.end()
	})
}

// Before the first frame a snapshot says that nothing plays.
func TestSnapshotBeforeTheFirstFrame(t *testing.T) {
	l := NewLoop(LoopConfig{Engine: New(hall(t)), Clock: clock.NewTransport(clock.Config{}), Base: clock.NewBase()})
	var s Snapshot
	l.Snapshot(&s)
	if s.Status.Song != None || s.Status.Cue != None || s.Status.Section != None || s.Status.Armed != None {
		t.Errorf("status: %+v", s.Status)
	}
	if len(s.Heads) != hallHeads || len(s.Universes) != 1 {
		t.Errorf("%d heads and %d universes", len(s.Heads), len(s.Universes))
	}
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
	if s.Health.WorstAt != 9*clock.Millisecond {
		t.Errorf("worst %v, want 9 ms", s.Health.WorstAt.Sub(0))
	}
	b.post(e, clock.Position{}, &h)
	if b.read(&s); s.Health.WorstAt != clock.Millisecond {
		t.Errorf("then worst %v, want 1 ms", s.Health.WorstAt.Sub(0))
	}
}

func TestNewLoopRefusesRates(t *testing.T) {
	for _, rate := range []int{-1, 45} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("%d frames a second was taken", rate)
				}
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
		if got := r.seen().sent; got != 441 {
			t.Errorf("%d frames in 10 s, want 441", got)
		}
		g.cancel()
		if err := <-g.done; err != nil {
			t.Error(err)
		}
		if got := r.seen(); got.closed != 1 || got.last(11) != 0 || waits < got.sent {
			t.Errorf("closed %d times, front %x at the end, %d waits for %d frames", got.closed, got.last(11), waits, got.sent)
		}
	})
}
