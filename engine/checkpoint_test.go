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
)

// keeper keeps a copy of each checkpoint of a loop.
type keeper struct {
	buffer []byte
	mu     sync.Mutex // tests look while the loop goes on
	kept   [][]byte
}

func (k *keeper) Begin() []byte { return k.buffer }
func (k *keeper) Commit(b []byte) {
	k.mu.Lock()
	defer k.mu.Unlock()
	k.buffer, k.kept = b, append(k.kept, slices.Clone(b))
}

// all returns the checkpoints so far.
func (k *keeper) all() [][]byte {
	k.mu.Lock()
	defer k.mu.Unlock()
	return slices.Clone(k.kept)
}

// config returns what a loop of an evening is made from.
func (e *evening) config(base clock.Base, input <-chan Input, j *Journal) LoopConfig {
	return LoopConfig{Base: base, Input: input, Lead: e.lead, Leads: e.leads, Free: e.free, Rise: e.rise, Goodbye: e.bye, Journal: j}
}

// start runs a loop; the function returned ends it and waits.
func start(l *Loop) (stop func()) {
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan error, 1)
	go func() { done <- l.Run(ctx) }()
	return func() { cancel(); <-done }
}

// stored returns a memory as a checkpoint has it: all that later frames depend on.
func stored(m *memory, p *Program) []byte {
	c := clock.CoderTo(nil)
	m.code(&c, p, len(p.Groups))
	return c.Bytes()
}

func recordsOf(j *Journal) (records []Record) {
	j.Close()
	for r := range j.Records() {
		records = append(records, r)
	}
	return records
}

// kept plays an evening with a checkpoint after each frame.
func (e *evening) kept(t *testing.T, p *Program) (records []Record, checkpoints [][]byte, end *memory) {
	synctest.Test(t, func(*testing.T) {
		base, input, j, k := clock.NewBase(), make(chan Input, 256), NewJournal(1<<16), &keeper{buffer: []byte{}}
		c := e.config(base, input, j)
		c.Levels = []*LevelBox{{}, {}}
		c.Engine, c.Clock, c.Checkpoints = New(p), clock.NewTransport(clock.Config{Ahead: e.most() + 50*clock.Millisecond}), k
		l := NewLoop(c)
		stop := start(l)
		e.drive(base, input, c.Levels...)
		stop()
		records, checkpoints, end = recordsOf(j), k.kept, &l.engine.memory
	})
	return records, checkpoints, end
}

// A checkpoint of any frame of any evening and the records after it give the same bytes
// as the evening went, and the same memory at its end.
func TestCheckpointAndRecordsEqualLive(t *testing.T) {
	p := asPlayed(t)
	rapid.Check(t, func(rt *rapid.T) {
		show := anyHall(rt, *p)
		e := evenings().Draw(rt, "evening")
		records, checkpoints, end := e.kept(t, show)
		require.NotEmpty(rt, checkpoints)
		at := rapid.IntRange(0, len(checkpoints)-1).Draw(rt, "checkpoint")
		from, err := RestoreCheckpoint(show, checkpoints[at])
		require.NoError(rt, err)
		require.Equal(rt, uint64(at)+1, from.Info.Frame, "the number of the next frame")
		r := ResumeReplay(from)
		after, frames := false, 0
		for i := range records {
			rec := &records[i]
			if !after {
				after = rec.Kind == RecordFrame && rec.Frame+1 == from.Info.Frame
				continue
			}
			if u := r.PlayRecord(rec); u != nil {
				frames++
				require.Equal(rt, rec.Sum, Sum(u), "frame %d at %v, the checkpoint was made at frame %d", rec.Frame, rec.At.Sub(0), at)
			}
		}
		require.True(rt, after)
		require.Equal(rt, stored(end, show), stored(&r.engine.memory, show), "what the engine remembers after the evening, and from the checkpoint on")
	})
}

// A loop that goes on from a checkpoint makes the frames that the loop before would have
// made, at the same times and with the same numbers, if no input comes.
func TestLoopGoesOnFromCheckpoint(t *testing.T) {
	p := asPlayed(t)
	rapid.Check(t, func(rt *rapid.T) {
		show := anyHall(rt, *p)
		e := evenings().Draw(rt, "evening")
		var first, second []Record
		var from *Restored
		synctest.Test(t, func(*testing.T) {
			base, input, j, k := clock.NewBase(), make(chan Input, 256), NewJournal(1<<16), &keeper{buffer: []byte{}}
			c := e.config(base, input, j)
			c.Levels = []*LevelBox{{}, {}}
			c.Engine, c.Clock, c.Checkpoints = New(show), clock.NewTransport(clock.Config{Ahead: e.most() + 50*clock.Millisecond}), k
			c.Goodbye = 0
			stop := start(NewLoop(c))
			e.drive(base, input, c.Levels...)
			all := k.all()
			last := all[len(all)-1]
			time.Sleep(3 * time.Second)
			synctest.Wait()
			stop()
			first = recordsOf(j)

			var err error
			from, err = RestoreCheckpoint(show, last)
			require.NoError(rt, err)
			j = NewJournal(1 << 16)
			c = e.config(base.Shifted(from.Info.At-base.Now()), make(chan Input), j)
			c.Resume = from
			stop = start(NewLoop(c))
			time.Sleep(2900 * time.Millisecond)
			synctest.Wait()
			stop()
			second = recordsOf(j)
			first = slices.DeleteFunc(first, func(r Record) bool { return r.Kind != RecordFrame && r.Kind != RecordEvent || r.At <= from.Info.At })
		})
		for i := range second {
			if second[i].Kind == RecordDelayedFrame {
				require.GreaterOrEqual(rt, second[i].Frame, from.Info.Frame, "the number of a frame that is sent later to universes with less lead")
			}
		}
		second = slices.DeleteFunc(second, func(r Record) bool { return r.Kind != RecordFrame && r.Kind != RecordEvent })
		require.Greater(rt, len(second), 60)
		for i := range second {
			if second[i].Kind == RecordFrame && second[i].At > second[0].At+2700*clock.Millisecond {
				break // a goodbye may follow
			}
			require.Equal(rt, first[i], second[i], "record %d after the checkpoint", i)
		}
	})
}
