package engine

import (
	"fmt"
	"math/rand/v2"
	"os"
	"runtime"
	"sync/atomic"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/clock"
	"tactus/protocol/dmx"
)

// watcher is an output that holds every frame to the grid as it comes.
type watcher struct {
	t      *testing.T
	loop   atomic.Pointer[Loop] // set once the loop runs
	now    [dmx.MaxRate + 1]clock.Time
	n      int
	pos    clock.Position
	mark   clock.Beat
	fresh  bool // first seen at the last frame
	marks  int
	faults int
}

func (w *watcher) Send(now clock.Time, _ []dmx.Universe, _ []bool) error {
	l := w.loop.Load()
	if l == nil {
		return nil
	}
	pos := l.clock.At(now + l.lead)
	last := w.now[(w.n+dmx.MaxRate)%len(w.now)]
	w.now[w.n%len(w.now)] = now
	w.n++
	if first := w.now[w.n%len(w.now)]; w.n > len(w.now) && now-first < clock.Second {
		w.fault("45 frames from %v to %v", first.Sub(0), now.Sub(0))
	}
	if gap := now - last; w.n > 1 && gap > 2*clock.Second/dmx.MaxRate+maxMarkWait {
		w.fault("at %v: no frame for %v", now.Sub(0), gap.Sub(0))
	}
	if a := &w.pos; a.Playing && pos.Playing && a.Jumps == pos.Jumps && pos.Beat >= w.mark {
		w.marks++
		past := pos.Tempo.Span(pos.Beat - w.mark)
		if past >= clock.Millisecond && !(w.fresh && now-last <= clock.Second/dmx.MaxRate+clock.Microsecond) {
			w.fault("at %v: the frame of beat %.4f is %v past it", now.Sub(0), w.mark.Quarters(), past.Sub(0))
		}
	}
	next := l.engine.nextMark(pos)
	w.pos, w.mark, w.fresh = pos, next, next != w.mark
	return nil
}

func (w *watcher) fault(format string, args ...any) {
	if w.faults++; w.faults <= 10 {
		assert.Fail(w.t, fmt.Sprintf(format, args...))
	}
}

func (w *watcher) Close() error { return nil }

// soak is hours of music.
type soak struct {
	*gig
	r       *rand.Rand
	arrived clock.Time
	bpm     float64
	ramp    float64 // BPM a minute
	checked int
	slips   int // drop-outs after which the count was a tick off
}

func (s *soak) tick(sent clock.Time, heard bool) (next clock.Time) {
	if heard {
		s.arrived = max(s.arrived, late(s.r, sent))
		s.until(s.arrived)
		s.event(clock.Tick24)
	}
	s.bpm = min(max(s.bpm+s.ramp*60/s.bpm/24/60, 50), 200)
	return sent + clock.Time(60/s.bpm/24*1e9)
}

// notKnown stands for a slip that is not known yet.
const notKnown = clock.Beat(-1)

// song plays for a while from a song position, with drop-outs and notes, and
// stops.
func (s *soak) song(from clock.Time) (end clock.Time) {
	s.bpm, s.ramp = 50+150*s.r.Float64(), (s.r.Float64()-0.5)*12
	s.until(from)
	s.arrived = from
	s.command(Command{Kind: SelectSong, Index: int32(s.r.IntN(4))})
	for range 48 { // a clock that ticks before it starts
		from = s.tick(from, true)
	}
	sixteenths := int32(0)
	if s.r.IntN(3) == 0 {
		sixteenths = s.r.Int32N(400)
	}
	s.input <- Input{Event: clock.Event{At: s.base.Now(), Kind: clock.Locate, Sixteenths: sixteenths}}
	kind := clock.Continue
	if sixteenths == 0 {
		kind = clock.Start
	}
	s.event(kind)
	ticks, gone, steady, slip := 24*(60+s.r.IntN(400)), 0, 0, clock.Beat(0)
	held, outs := clock.Beat(0), clock.Beat(0) // the slip at the last look, drop-outs since
	for n := range ticks {
		if gone == 0 && s.r.IntN(24*200) == 0 {
			gone = 24 * (1 + s.r.IntN(4)) // the cable is out
			outs++
			s.ramp = 0
		}
		if s.r.IntN(24*24) == 0 {
			s.command(Command{Kind: []CommandKind{FireNote, ArmNote}[s.r.IntN(2)], Index: 60 + s.r.Int32N(4), When: When(s.r.IntN(3))})
		}
		steady++
		if gone > 0 {
			gone--
			steady, slip = 0, notKnown
		}
		sent := from
		from = s.tick(from, gone == 0)
		if steady > 24*32 && n%240 == 0 { // no drift: the count is the master's
			pos := s.snapshot().Pos
			want := clock.Beat(sixteenths)*clock.Sixteenth + clock.Beat(n)*clock.Tick + pos.Tempo.Beats(pos.At-sent)
			s.checked++
			// A clock that comes back is taken up at the tick nearest to where the
			// music has got to: it may be one off, and stays so;
			// a second drop-out adds to it.
			if slip == notKnown {
				slip = (pos.Beat - want).RoundTo(clock.Tick)
				if slip != 0 {
					s.slips++
				}
				off := slip - held
				assert.LessOrEqual(s.t, off, outs*clock.Tick, "at %v: the count moved by %d ticks in %d drop-outs", sent.Sub(0), off/clock.Tick, outs)
				assert.GreaterOrEqual(s.t, off, -outs*clock.Tick, "at %v: the count moved by %d ticks in %d drop-outs", sent.Sub(0), off/clock.Tick, outs)
				held, outs = slip, 0
			}
			want += slip
			off := pos.Tempo.Span(pos.Beat - want)
			assert.LessOrEqual(s.t, off, 10*clock.Millisecond, "at %v: the beat is off", sent.Sub(0))
			assert.GreaterOrEqual(s.t, off, -10*clock.Millisecond, "at %v: the beat is off", sent.Sub(0))
		}
	}
	s.until(max(from, s.arrived))
	s.event(clock.Stop)
	return max(from, s.arrived) + clock.Time(s.r.Int64N(int64(20*clock.Second)))
}

// soakEnv asks for more music than an hour, like 24h.
const soakEnv = "TACTUS_SOAK"

// soakTime returns how much music to play. Under the race detector ten minutes
// have to do.
func soakTime(t *testing.T) clock.Time {
	if raceDetector || testing.Short() {
		return 600 * clock.Second
	}
	text := os.Getenv(soakEnv)
	if text == "" {
		return 3600 * clock.Second
	}
	long, err := time.ParseDuration(text)
	require.NoError(t, err, "%s=%q, like 24h", soakEnv, text)
	require.GreaterOrEqual(t, long, 10*time.Minute, "%s=%q, like 24h", soakEnv, text)
	return clock.Time(long)
}

// Hours of music, a day in make quiet: tempi that move, stops, jumps, drop-outs
// of the clock, notes. Every beat has its frame, the beat does not drift, no
// second holds 45 frames, and memory does not grow.
func TestSoak(t *testing.T) {
	long := soakTime(t)
	synctest.Test(t, func(t *testing.T) {
		w := &watcher{t: t}
		g := play(t, func(c *LoopConfig) { c.Outputs = []Output{w} })
		w.loop.Store(g.loop)
		s := soak{gig: g, r: rand.New(rand.NewPCG(24, 3600))}
		var early, after runtime.MemStats
		for at := clock.Second; at < long; {
			at = s.song(at)
			if early.HeapAlloc == 0 && at > long/12 {
				runtime.GC()
				runtime.ReadMemStats(&early)
			}
		}
		runtime.GC()
		runtime.ReadMemStats(&after)
		g.end()
		assert.LessOrEqual(t, int64(after.HeapAlloc)-int64(early.HeapAlloc), int64(64<<10), "bytes that the heap grew by")
		h := g.snapshot().Health
		t.Logf("%v: %d frames, %d marks, %d looks at the beat, %d drop-outs that left the count a tick off, heap %d then %d", long.Sub(0), w.n, w.marks, s.checked, s.slips, early.HeapAlloc, after.HeapAlloc)
		assert.Zero(t, h.Missed)
		assert.GreaterOrEqual(t, w.marks, int(long/clock.Second)/2)
		assert.NotZero(t, s.checked)
	})
}
