package engine

import (
	"fmt"
	"math"
	"math/rand/v2"
	"sync/atomic"
	"testing"
	"testing/synctest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/clock"
	"tactus/protocol/dmx"
)

// placer is an output that notes where in the music each frame lies. It runs
// on the loop's goroutine, so it may look at the loop's clock.
type placer struct {
	loop  atomic.Pointer[Loop] // set once the loop runs
	now   []clock.Time
	pos   []clock.Position
	marks []clock.Beat // the next mark, as seen at that frame
}

func (p *placer) Send(now clock.Time, _ []dmx.Universe, _ []bool) error {
	l := p.loop.Load()
	if l == nil {
		return nil
	}
	pos := l.clock.At(now + l.lead)
	p.now, p.pos = append(p.now, now), append(p.pos, pos)
	p.marks = append(p.marks, l.engine.nextMark(pos))
	return nil
}

func (p *placer) Close() error { return nil }

// late is the 5 ms model of clock's trace_test.go: half-normal 5 ms, for one
// message in 200 up to 20 ms more, rounded up to the next millisecond. Common
// practice, no source.
func late(r *rand.Rand, at clock.Time) clock.Time {
	d := math.Abs(r.NormFloat64()) * 5e6
	if r.Float64() < 0.005 {
		d += r.Float64() * 20e6
	}
	return (at + clock.Time(d) + clock.Millisecond - 1) / clock.Millisecond * clock.Millisecond
}

// wander sends late ticks of a tempo that moves between low and high.
func (g *gig) wander(r *rand.Rand, from, to clock.Time, low, high float64, each func(n int)) {
	bpm := low + r.Float64()*(high-low)
	ramp := (r.Float64() - 0.5) * 60 // BPM a minute
	sent, arrived := from, clock.Time(0)
	for n := 0; sent < to; n++ {
		arrived = max(arrived, late(r, sent))
		g.until(arrived)
		if each != nil {
			each(n)
		}
		g.event(clock.Tick24)
		bpm = min(max(bpm+ramp*60/bpm/24/60, low), high)
		if r.IntN(24*16) == 0 {
			ramp = (r.Float64() - 0.5) * 60
		}
		sent += clock.Time(60 / bpm / 24 * 1e9)
	}
}

// Whatever the tempo does and however late the ticks are, every beat and every
// cue has a frame at it, or within a millisecond after; and no second holds
// more than 44 frames.
func TestEveryMarkIsAFrame(t *testing.T) {
	for seed := range uint64(24) {
		synctest.Test(t, func(t *testing.T) {
			r := rand.New(rand.NewPCG(seed, 44))
			lead := []clock.Time{0, 40, 150}[seed%3] * clock.Millisecond
			p := &placer{}
			g := play(t, func(c *LoopConfig) {
				c.Outputs = []Output{p}
				c.Lead = lead
				c.Clock = clock.NewTransport(clock.Config{Ahead: lead + 50*clock.Millisecond})
			})
			p.loop.Store(g.loop)
			g.command(Command{Kind: SelectSong, Index: 0})
			g.wander(r, clock.Second, 60*clock.Second, 60, 200, func(n int) {
				if n == 0 {
					g.event(clock.Start)
				}
				if n > 0 && r.IntN(24*10) == 0 {
					g.command(Command{Kind: ArmNote, Index: 62 + int32(r.IntN(2)), When: When(r.IntN(2))})
				}
			})
			g.end()
			p.check(t, 0, true)
		})
	}
}

// check holds the frames to the marks that were seen from the frame before, and
// to 44 a second. settle is how long after a start or a jump nothing is asked.
func (p *placer) check(t *testing.T, settle clock.Time, exact bool) (marks int) {
	t.Helper()
	since := clock.Time(0)
	for i := 1; i < len(p.pos); i++ {
		a, b := &p.pos[i-1], &p.pos[i]
		if a.Jumps != b.Jumps || !a.Playing || !b.Playing {
			since = p.now[i]
			continue
		}
		if p.now[i]-since < settle || b.Beat < p.marks[i-1] || p.marks[i-1] == p.marks[i] {
			continue
		}
		marks++
		past := b.Tempo.Span(b.Beat - p.marks[i-1])
		// A mark that was not known before the last frame, and is closer to it
		// than frames may be, has to wait.
		sudden := (i < 2 || p.marks[i-2] != p.marks[i-1]) && p.now[i]-p.now[i-1] <= clock.Second/44+clock.Microsecond
		if !sudden {
			if exact {
				assert.Less(t, past, clock.Millisecond, "at %v: mark %.4f, how far its frame is past it, %v after the last", p.now[i].Sub(0), p.marks[i-1].Quarters(), (p.now[i] - p.now[i-1]).Sub(0))
			}
		}
	}
	if i := crowded(p.now, p.now); i >= 0 {
		assert.Fail(t, fmt.Sprintf("45 frames from %v to %v", p.now[i-44].Sub(0), p.now[i].Sub(0)))
	}
	assert.NotZero(t, marks, "no mark was passed")
	return marks
}

// ⌊44·60/T⌋ frames a beat while an exact clock leads, the beat one of them.
func TestFramesABeat(t *testing.T) {
	for _, c := range []struct {
		bpm  float64
		want int
	}{{60, 44}, {90, 29}, {119, 22}, {121, 21}, {140, 18}, {240, 11}} {
		synctest.Test(t, func(t *testing.T) {
			p := &placer{}
			g := play(t, func(l *LoopConfig) { l.Outputs = []Output{p} })
			p.loop.Store(g.loop)
			g.event(clock.Start)
			g.input <- Input{Event: clock.Event{At: g.base.Now(), Kind: clock.SetTempo, Tempo: clock.BPM(c.bpm)}}
			g.until(30 * clock.Second)
			g.end()
			count := map[clock.Beat]int{}
			for _, pos := range p.pos {
				count[pos.Beat.FloorTo(quarter)/quarter]++
			}
			for beat := clock.Beat(4); beat < clock.Beat(c.bpm/2)-1; beat++ {
				assert.Equal(t, c.want, count[beat], "%v BPM: beat %d has %d frames", c.bpm, beat, count[beat])
			}
			p.check(t, clock.Second, true)
		})
	}
}

// A clock that is measured a little above and below 120 in turn keeps to 21
// frames a beat, rather than flip between 21 and 22.
func TestGridDoesNotFlip(t *testing.T) {
	var g frameGrid
	g.start(0, dmx.MaxRate)
	at, flips, last := clock.Time(0), 0, 0
	for beat := range clock.Beat(400) {
		bpm := 120 + 0.01*float64(1-2*(beat%2))
		at += clock.Time(60e9 / bpm)
		frames := 0
		for {
			now := g.next()
			g.takeFrame(now)
			g.recordSent(now)
			frames++
			if g.marked && g.stepsLeft == 0 || beat == 0 && frames == 21 {
				break
			}
			g.planNext(beat, at, true)
		}
		g.planNext(beat+1, at+clock.Second/2, true)
		if beat > 4 && frames != last {
			flips++
		}
		last = frames
	}
	assert.Zero(t, flips, "changes of the count of frames a beat")
}

// With free there is nothing but the plain rate.
func TestFreeGrid(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		p := &placer{}
		g := play(t, func(l *LoopConfig) { l.Outputs, l.Free = []Output{p}, true })
		p.loop.Store(g.loop)
		g.event(clock.Start)
		g.until(10 * clock.Second)
		g.end()
		first := int64(442 - 1 - len(p.now)) // 0, or 1 where the loop was quicker
		for i, at := range p.now {
			require.Equal(t, clock.Time((first+int64(i))*int64(clock.Second)/44), at, "frame %d", i)
		}
	})
}
