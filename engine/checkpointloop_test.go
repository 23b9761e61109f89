package engine

import (
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/clock"
)

// fixedKeeper has room for every checkpoint, as a mapped file has.
type fixedKeeper struct {
	buffer []byte
	n      int
	size   int
}

func (k *fixedKeeper) Begin() []byte   { return k.buffer }
func (k *fixedKeeper) Commit(b []byte) { k.n, k.size = k.n+1, len(b) }

// A checkpoint after each frame touches the heap as little as the frame.
func TestCheckpointsDoNotTouchTheHeap(t *testing.T) {
	k := &fixedKeeper{buffer: make([]byte, 4<<20)}
	input := make(chan Input, 64)
	l := NewLoop(LoopConfig{Engine: New(rigOf(t, 512, 64)), Clock: clock.NewTransport(clock.Config{}), Base: clock.NewBase(), Input: input, Checkpoints: k})
	now := clock.Second
	l.start(now)
	input <- Input{Command: Command{Kind: SelectSong}}
	input <- Input{Event: clock.Event{At: now, Kind: clock.Start}}
	frame := func() {
		input <- Input{Event: clock.Event{At: now, Kind: clock.Tick24}}
		input <- Input{Command: Command{Kind: Hold}}
		l.step(now)
		now = l.nextWake()
	}
	for range 88 {
		frame()
	}
	before := k.n
	assert.Zero(t, testing.AllocsPerRun(100, frame), "allocations a frame")
	assert.Equal(t, 101, k.n-before, "a command is in each frame: so is a checkpoint")
	assert.Greater(t, k.size, 100_000)
}

// Without input a checkpoint is made as often as its share of the time allows: the time
// that it takes is measured, here by a keeper that takes 10 ms of it, so that one is made
// each half second. A command, and a new cue, has one at once.
func TestCheckpointsAreRationed(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		k := &slowKeeper{wait: func() { time.Sleep(10 * time.Millisecond) }}
		base, input := clock.NewBase(), make(chan Input, 8)
		l := NewLoop(LoopConfig{Engine: New(asPlayed(t)), Clock: clock.NewTransport(clock.Config{}), Base: base, Input: input, Checkpoints: k})
		stop := start(l)
		time.Sleep(5100 * time.Millisecond)
		synctest.Wait()
		assert.InDelta(t, 10, k.n, 1, "checkpoints in 5 s, each of 10 ms, 50 times as long apart")
		n := k.n
		input <- Input{Command: Command{Kind: Blackout}}
		time.Sleep(50 * time.Millisecond)
		synctest.Wait()
		assert.GreaterOrEqual(t, k.n, n+1, "a command has a checkpoint at once")
		from, err := RestoreCheckpoint(asPlayed(t), k.last)
		require.NoError(t, err)
		assert.True(t, from.Engine().masters.blackout)
		stop()
	})
}

// A checkpoint that takes long is made after the last slice of a frame, and waits for a frame
// after which there is time for it: no frame and no slice is late for it. Where there never is
// time, one is made each second all the same.
func TestCheckpointsWaitForTime(t *testing.T) {
	for _, c := range []struct {
		takes         time.Duration
		slices        int
		most          clock.Time // longest time from slice to slice of a frame
		atLeast, late int        // checkpoints in 4 s, frames that come late
	}{
		{takes: 5 * time.Millisecond, slices: 11, atLeast: 80, most: clock.Millisecond}, // one in each second frame
		{takes: 5 * time.Millisecond, atLeast: 170},
		{takes: 15 * time.Millisecond, slices: 11, atLeast: 4, late: 4, most: clock.Millisecond}, // 10 ms of slices and 15 are more than a period
	} {
		synctest.Test(t, func(t *testing.T) {
			k := &slowKeeper{wait: func() { time.Sleep(c.takes) }}
			s, input := &spreading{slices: c.slices}, make(chan Input, 64)
			base := clock.NewBase()
			l := NewLoop(LoopConfig{
				Engine: New(asPlayed(t)), Clock: clock.NewTransport(clock.Config{}), Base: base, Input: input,
				Outputs: []Output{s}, Checkpoints: k, Free: true,
			})
			stop := start(l)
			for range 4 * 44 { // a command in each frame
				input <- Input{Command: Command{Kind: Hold}}
				time.Sleep(time.Second / 44)
			}
			synctest.Wait()
			stop()
			var health Snapshot
			l.Snapshot(&health)
			assert.Zero(t, health.Health.Missed)
			assert.Zero(t, s.unsent, "slices that were left when the next frame came")
			assert.GreaterOrEqual(t, k.n, c.atLeast, "checkpoints")
			late := 0
			for i := 1; i < len(s.frames); i++ {
				if s.frames[i]-s.frames[i-1] > clock.Second/44+clock.Millisecond {
					late++
				}
			}
			assert.LessOrEqual(t, late, c.late, "frames that came late")
			for i := 1; i < len(s.sent); i++ {
				if i%11 != 0 {
					require.LessOrEqual(t, s.sent[i]-s.sent[i-1], c.most, "slice %d of frame %d", i%11, i/11)
				}
			}
		})
	}
}

// Frames of universes with less lead come between those of the others: a checkpoint waits
// for a gap that has time for it, so that none of them is late.
func TestCheckpointsWaitForDelayedUniverses(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		k := &slowKeeper{wait: func() { time.Sleep(5 * time.Millisecond) }}
		b, input := &byUniverse{}, make(chan Input, 8)
		l := NewLoop(LoopConfig{
			Engine: New(rigOf(t, 64, 3)), Clock: clock.NewTransport(clock.Config{}), Base: clock.NewBase(), Input: input,
			Outputs: []Output{b}, Checkpoints: k, Free: true,
			// Sent 4.5 and 14.5 ms after a frame of the first: there are 4.5, 10 and 8 ms.
			Leads: []clock.Time{60 * clock.Millisecond, 10 * clock.Millisecond, 0},
		})
		stop := start(l)
		for range 4 * 44 { // a command in each frame
			input <- Input{Command: Command{Kind: Hold}}
			time.Sleep(time.Second / 44)
		}
		synctest.Wait()
		stop()
		assert.GreaterOrEqual(t, k.n, 170, "checkpoints")
		for u, delay := range []clock.Time{0, 50 * clock.Millisecond, 60 * clock.Millisecond} {
			require.GreaterOrEqual(t, len(b.at[u]), 170, "frames of universe %d", u)
			for i, at := range b.at[u] {
				require.Equal(t, delay, at-b.at[0][i], "universe %d, frame %d: after the first universe", u, i)
			}
		}
	})
}

// One checkpoint that takes long, as on a computer that is busy for a moment, does not have
// the next one wait: a command soon after it is kept within two frames.
func TestOneSlowCheckpointDoesNotDelayTheNext(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		takes := time.Millisecond
		k := &slowKeeper{wait: func() { time.Sleep(takes) }}
		input := make(chan Input, 8)
		stop := start(NewLoop(LoopConfig{Engine: New(asPlayed(t)), Clock: clock.NewTransport(clock.Config{}), Base: clock.NewBase(), Input: input, Checkpoints: k}))
		press := func() (made int) {
			n := k.n
			input <- Input{Command: Command{Kind: Hold}}
			time.Sleep(150 * time.Millisecond)
			synctest.Wait()
			return k.n - n
		}
		time.Sleep(time.Second)
		synctest.Wait()
		takes = 100 * time.Millisecond
		assert.Positive(t, press(), "the slow one")
		takes = time.Millisecond
		time.Sleep(100 * time.Millisecond)
		synctest.Wait()
		assert.Positive(t, press(), "the one after it")
		stop()
	})
}

type slowKeeper struct {
	n    int
	last []byte
	wait func() // lets the time pass that it takes
}

func (k *slowKeeper) Begin() []byte { return make([]byte, 0, 1<<17) }

func (k *slowKeeper) Commit(b []byte) {
	k.wait()
	k.n++
	k.last = b
}

// A follower on another computer, whose clock is 100 s behind, takes a checkpoint and then
// records. When the leader is gone it goes on as a live loop: the frames that it makes are
// those that the leader makes if it goes on.
func TestFollowerTakesOver(t *testing.T) {
	p := asPlayed(t)
	var leader, follower []Record
	synctest.Test(t, func(t *testing.T) {
		base, input, j := clock.NewBase(), make(chan Input, 256), NewJournal(1<<16)
		l := NewLoop(LoopConfig{Engine: New(p), Clock: clock.NewTransport(clock.Config{}), Base: base, Input: input, Journal: j, Lead: 20 * clock.Millisecond})
		stop := start(l)
		e := evening{steps: []step{
			{command: Command{Kind: SelectSong}}, {bpm: 121.5}, {event: clock.Event{Kind: clock.Start}}, {wait: 4 * clock.Second, command: Command{Kind: GrandMaster, Level: 0.5, Over: 9 * clock.Second}},
		}}
		e.drive(base, input)
		l.RequestCheckpoint()
		e = evening{steps: []step{{bpm: 121.5}, {wait: 3 * clock.Second, command: Command{Kind: FireSection, Index: 1}}, {wait: clock.Second, bpm: -1}}}
		e.drive(base, input)
		var r *Replay
		taken := 0
		for len(j.Records()) > 0 {
			rec := <-j.Records()
			switch {
			case rec.Kind == RecordCheckpoint:
				from, err := RestoreCheckpoint(p, rec.Checkpoint)
				require.NoError(t, err)
				r = ResumeReplay(from)
			case r != nil:
				if u := r.PlayRecord(&rec); u != nil {
					require.Equal(t, rec.Sum, Sum(u), "frame %d", rec.Frame)
					taken++
				}
			}
		}
		require.Greater(t, taken, 100, "frames after the checkpoint")
		own := NewJournal(1 << 16)
		here := base.Shifted(-100 * clock.Second) // the follower's computer
		stopOwn := start(NewLoop(LoopConfig{Resume: r.TakeOver(), Base: here.Shifted(100 * clock.Second), Input: make(chan Input), Journal: own, Lead: 20 * clock.Millisecond, Rise: clock.Second}))
		time.Sleep(4 * time.Second)
		synctest.Wait()
		stop()
		stopOwn()
		leader, follower = recordsOf(j), recordsOf(own)
	})
	sums := map[clock.Beat]uint32{} // at the marks both loops have frames at the same time
	for i := range leader {
		if leader[i].Kind == RecordFrame {
			sums[clock.Beat(leader[i].At)] = leader[i].Sum
		}
	}
	same, frames := 0, uint64(0)
	for i := range follower {
		rec := &follower[i]
		require.NotEqual(t, RecordMasterMove, rec.Kind, "no rise")
		if rec.Kind != RecordFrame {
			continue
		}
		if frames == 0 {
			assert.Greater(t, rec.Frame, uint64(300), "the number goes on")
		}
		frames++
		if sum, ok := sums[clock.Beat(rec.At)]; ok {
			require.Equal(t, sum, rec.Sum, "frame at %v", rec.At.Sub(0))
			same++
		}
	}
	assert.Greater(t, same, 100, "frames at the same time as the leader's, of %d", frames)
}

// Frames that nobody made while the process was away are missed, not made up for: the
// first is at once.
func TestFirstFrameAfterRestart(t *testing.T) {
	p := asPlayed(t)
	for _, away := range []time.Duration{0, 300 * time.Millisecond, time.Minute} {
		synctest.Test(t, func(t *testing.T) {
			base, k := clock.NewBase(), &keeper{buffer: []byte{}}
			stop := start(NewLoop(LoopConfig{Engine: New(p), Clock: clock.NewTransport(clock.Config{}), Base: base, Checkpoints: k, Rise: clock.Second}))
			time.Sleep(2 * time.Second)
			synctest.Wait()
			stop()
			time.Sleep(away)
			from, err := RestoreCheckpoint(p, k.all()[len(k.all())-1])
			require.NoError(t, err)
			j := NewJournal(1000)
			began, frame := base.Now(), from.Info.Frame
			stop = start(NewLoop(LoopConfig{Resume: from, Base: base, Journal: j, Rise: clock.Second}))
			time.Sleep(time.Second)
			synctest.Wait()
			stop()
			first := recordsOf(j)[0]
			assert.Equal(t, RecordFrame, first.Kind)
			assert.Equal(t, frame, first.Frame)
			assert.LessOrEqual(t, first.At-began, clock.Second/44)
			if away == 300*time.Millisecond {
				assert.Equal(t, began, first.At)
				assert.InDelta(t, 13, first.Missed, 1, "frames of 0.3 s")
			}
		})
	}
}

// The cost of a checkpoint, for the demo's hall and for a large rig while it fades.
func BenchmarkCheckpoint(b *testing.B) {
	for name, p := range map[string]*Program{"hall": asPlayed(b), "heads=4096": rigOf(b, 4096, 512)} {
		b.Run(name, func(b *testing.B) {
			l := NewLoop(LoopConfig{Engine: New(p), Clock: clock.NewTransport(clock.Config{}), Base: clock.NewBase()})
			pos := clock.Position{Playing: true, Tempo: clock.BPM(120)}
			l.engine.Do(Command{Kind: SelectSong}, pos)
			for n := range clock.Time(100) {
				pos.At = n * clock.Second / 44
				pos.Beat = pos.Tempo.Beats(pos.At)
				pos.Pulse = pos.Beat
				l.engine.Frame(pos)
			}
			buffer := l.AppendCheckpoint(nil)
			b.ReportMetric(float64(len(buffer)), "bytes")
			for b.Loop() {
				buffer = l.AppendCheckpoint(buffer[:0])
			}
		})
	}
}
