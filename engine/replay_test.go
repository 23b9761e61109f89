package engine

import (
	"context"
	"slices"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tactus/clock"
	"tactus/protocol/dmx"
)

// tape is an output that keeps every byte of every send.
type tape struct {
	mu    sync.Mutex // tests look while the loop goes on
	sends []sending
}

type sending struct {
	at  clock.Time
	u   []dmx.Universe
	due []bool
}

func (o *tape) Send(now clock.Time, u []dmx.Universe, due []bool) error {
	o.mu.Lock()
	defer o.mu.Unlock()
	o.sends = append(o.sends, sending{now, slices.Clone(u), slices.Clone(due)})
	return nil
}

// all returns the sends so far.
func (o *tape) all() []sending {
	o.mu.Lock()
	defer o.mu.Unlock()
	return slices.Clone(o.sends)
}

func (o *tape) Close() error { return nil }

// evening is a loop's set-up and what happens to it.
type evening struct {
	steps []step
	leads []clock.Time
	lead  clock.Time
	rise  clock.Time
	bye   clock.Time
	free  bool
}

func evenings() *rapid.Generator[evening] {
	ms := func(t *rapid.T, name string, of ...clock.Time) clock.Time {
		return rapid.SampledFrom(of).Draw(t, name) * clock.Millisecond
	}
	return rapid.Custom(func(t *rapid.T) evening {
		e := evening{
			steps: night(t, allKinds()...), lead: ms(t, "lead", 0, 20), rise: ms(t, "rise", 0, 2000),
			bye: ms(t, "goodbye", 0, 500), free: rapid.Bool().Draw(t, "free"),
		}
		if rapid.Bool().Draw(t, "leads") {
			e.leads = []clock.Time{ms(t, "its lead", 0, 60), 30 * clock.Millisecond}
		}
		return e
	})
}

// live plays an evening in a bubble and returns its journal, its sends and what the
// engine remembers at the end.
func (e *evening) live(t *testing.T, p *Program) (records []Record, sends []sending, end *memory) {
	synctest.Test(t, func(*testing.T) {
		base, input, j, o := clock.NewBase(), make(chan Input, 256), NewJournal(1<<16), &tape{}
		boxes := []*LevelBox{{}, {}}
		l := NewLoop(LoopConfig{
			Engine: New(p), Clock: clock.NewTransport(clock.Config{Ahead: e.most() + 50*clock.Millisecond}), Base: base, Input: input,
			Levels: boxes, Outputs: []Output{o}, Lead: e.lead, Leads: e.leads, Free: e.free, Rise: e.rise, Goodbye: e.bye, Journal: j,
		})
		ctx, cancel := context.WithCancel(context.Background())
		done := make(chan error, 1)
		go func() { done <- l.Run(ctx) }()
		e.drive(base, input, boxes...)
		cancel()
		<-done
		j.Close()
		for r := range j.Records() {
			records = append(records, r)
		}
		sends, end = o.sends, &l.engine.memory
	})
	return records, sends, end
}

func (e *evening) most() clock.Time { return e.lead + longest(e.leads) }

// drive lets the steps happen, each tick and command at its own moment.
func (e *evening) drive(base clock.Base, input chan<- Input, boxes ...*LevelBox) {
	tick, period := clock.Time(0), clock.Time(0)
	for _, s := range e.steps {
		for end := base.Now() + s.wait; ; {
			next := end
			if period > 0 {
				next = min(end, tick)
			}
			time.Sleep(base.Until(next))
			synctest.Wait()
			if next == end {
				break
			}
			input <- Input{Event: clock.Event{At: base.Now(), Kind: clock.Tick24}}
			tick += period
		}
		if s.bpm > 0 {
			tick, period = base.Now(), clock.Time(60/s.bpm/24*float64(clock.Second))
		} else if s.bpm < 0 {
			period = 0
		}
		s.event.At = base.Now()
		input <- Input{Event: s.event, Command: s.command, Reload: s.reload}
		if l := s.levels; l != nil && l.Input >= 0 && int(l.Input) < len(boxes) {
			boxes[l.Input].Put(l.Present, &l.Levels)
		}
	}
	time.Sleep(100 * time.Millisecond)
	synctest.Wait()
}

// Whatever happens in an evening, and whatever is edited in it, its journal gives the same
// bytes at the same moments again, those of universes with less lead too, and the same
// memory.
func TestReplayEqualsLive(t *testing.T) {
	p := asPlayed(t)
	rapid.Check(t, func(rt *rapid.T) {
		show := anyHall(rt, *p)
		e := evenings().Draw(rt, "evening")
		to := anyEdit(rt, show)
		edit := step{wait: rapid.SampledFrom([]clock.Time{0, clock.Second / 3}).Draw(rt, "wait"), reload: prepareReload(rt, show, to)}
		e.steps = slices.Insert(e.steps, rapid.IntRange(0, len(e.steps)).Draw(rt, "edited after"), edit)
		records, sends, end := e.live(t, show)
		reloads := 0
		r := NewReplay(show, clock.Config{Ahead: e.most() + 50*clock.Millisecond}, e.most())
		var frames [][]dmx.Universe
		sent := 0
		for i := range records {
			rec := &records[i]
			if rec.Kind == RecordReload {
				reloads++
				require.True(rt, r.Reload(prepareReload(rt, show, to)))
			}
			u := r.PlayRecord(rec)
			if u != nil {
				frames = append(frames, slices.Clone(u))
				require.Equal(rt, rec.Sum, Sum(u), "frame %d at %v", rec.Frame, rec.At.Sub(0))
			}
			if rec.Kind == RecordFrame || rec.Kind == RecordDelayedFrame {
				s := sends[sent]
				require.Equal(rt, rec.At, s.at, "send %d, frame %d", sent, rec.Frame)
				require.True(rt, slices.Equal(s.u, frames[rec.Frame]), "send %d, frame %d", sent, rec.Frame)
				sent++
			}
		}
		require.Equal(rt, 1, reloads)
		require.Equal(rt, len(sends), sent, "the last record is of kind")
		require.Equal(rt, RecordEnd, records[len(records)-1].Kind, "the last record is of kind")
		require.Equal(rt, *end, r.engine.memory, "what the engine remembers after the night and after its replay")
	})
}
