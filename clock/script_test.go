package clock_test

import (
	"encoding/binary"
	"hash/fnv"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tactus/clock"
)

// scriptStep is one step of a transport script: an event some time after the last,
// and a look at the position some time ahead of it.
type scriptStep struct {
	kind  clock.Kind
	after clock.Time
	value int32
	ahead clock.Time
}

// runScript plays a script and reports through fail what must never be: the
// beat running backwards while playing other than by a jump, a position that is
// not what the transport's own rules say, numbers out of range.
func runScript(t require.TestingT, c clock.Config, steps []scriptStep) []clock.Position {
	tr := clock.NewTransport(c)
	now := clock.Second
	var seen []clock.Position
	var before clock.Position
	for i, s := range steps {
		now += s.after
		e := clock.Event{At: now, Kind: s.kind, Sixteenths: s.value, Tempo: clock.Tempo(s.value) * 10_000}
		pre := tr.At(now)
		tr.Handle(e)
		for _, at := range []clock.Time{now, now + s.ahead} {
			p := tr.At(at)
			require.Equal(t, p, tr.At(at), "step %d: asked twice", i)
			if p.Playing {
				require.Equal(t, p.Beat, p.Pulse, "step %d: the pulse while playing", i)
			}
			require.GreaterOrEqual(t, p.Tempo, clock.MinTempo, "step %d", i)
			require.LessOrEqual(t, p.Tempo, clock.MaxTempo, "step %d", i)
			seen = append(seen, p)
		}
		p := tr.At(now)
		if pre.Playing && before.Playing && pre.Jumps == before.Jumps {
			require.GreaterOrEqual(t, pre.Beat, before.Beat, "before step %d: the beat ran back", i)
		}
		if p.Playing && pre.Jumps == p.Jumps {
			require.GreaterOrEqual(t, p.Beat, pre.Beat, "step %d: %+v: the beat ran back", i, s)
		}
		if !p.Playing && !pre.Playing && p.Jumps == pre.Jumps {
			require.Equal(t, pre.Beat, p.Beat, "step %d: %+v: moved while stopped", i, s)
		}
		before = p
	}
	return seen
}

var scriptConfigs = []clock.Config{
	{}, {Lead: clock.LeadMIDI}, {Lead: clock.LeadTap, Internal: clock.BPM(100)}, {Lead: clock.LeadInternal, Internal: 1}, {Ahead: 250 * clock.Millisecond},
}

// drawScript draws runs of ticks at a tempo with messages among them: like a
// master, only wilder.
func drawScript(t *rapid.T) []scriptStep {
	var steps []scriptStep
	for range rapid.IntRange(1, 12).Draw(t, "runs") {
		period := clock.Time(tickLength(clock.BPM(rapid.Float64Range(10, 500).Draw(t, "bpm"))))
		jitter := clock.Time(rapid.Int64Range(0, int64(period)).Draw(t, "jitter"))
		for range rapid.IntRange(0, 60).Draw(t, "ticks") {
			after := period - jitter/2 + clock.Time(rapid.Int64Range(0, int64(jitter)).Draw(t, "j"))
			steps = append(steps, scriptStep{clock.Tick24, max(after, 0), 0, 20 * clock.Millisecond})
		}
		steps = append(steps, scriptStep{
			clock.Kind(rapid.IntRange(1, 8).Draw(t, "kind")),
			clock.Time(rapid.Int64Range(0, int64(2*clock.Second)).Draw(t, "after")),
			rapid.Int32Range(-100, 20_000).Draw(t, "value"),
			clock.Time(rapid.Int64Range(0, int64(clock.Second)).Draw(t, "ahead")),
		})
	}
	return steps
}

func TestScripts(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := rapid.SampledFrom(scriptConfigs).Draw(t, "config")
		steps := drawScript(t)
		first := runScript(t, c, steps)
		second := runScript(t, c, steps)
		for i := range first {
			require.Equal(t, second[i], first[i], "equal scripts, step %d", i/2)
		}
	})
}

// TestScriptsAhead: a reader that looks no further ahead than it has said never
// sees the beat step back either.
func TestScriptsAhead(t *testing.T) {
	const ahead = 40 * clock.Millisecond
	rapid.Check(t, func(t *rapid.T) {
		steps := drawScript(t)
		tr := clock.NewTransport(clock.Config{Ahead: ahead})
		now := clock.Second
		var before clock.Position
		for i, s := range steps {
			now += s.after
			tr.Handle(clock.Event{At: now, Kind: s.kind, Sixteenths: s.value, Tempo: clock.Tempo(s.value) * 10_000})
			p := tr.At(now + ahead)
			if p.Playing && before.Playing && p.Jumps == before.Jumps {
				require.GreaterOrEqual(t, p.Beat, before.Beat, "step %d: %+v: the beat ran back", i, s)
			}
			before = p
		}
	})
}

func FuzzTransport(f *testing.F) {
	f.Add([]byte{0})
	f.Add([]byte{0, 2, 0, 0, 1, 20, 0, 0, 1, 20, 0, 0, 1, 20, 0, 0, 3, 5, 0, 0, 4, 9, 0, 0, 1, 30, 0, 0})
	f.Add([]byte{1, 5, 1, 8, 0, 4, 1, 0, 0, 1, 255, 255, 255, 8, 0, 0, 0})
	f.Add([]byte{2, 6, 244, 1, 0, 6, 244, 1, 0, 6, 244, 1, 0, 7, 1, 9, 9})
	f.Fuzz(func(t *testing.T, src []byte) {
		if len(src) == 0 {
			return
		}
		c := scriptConfigs[int(src[0])%len(scriptConfigs)]
		var steps []scriptStep
		for src = src[1:]; len(src) >= 4; src = src[4:] {
			ms := clock.Time(binary.LittleEndian.Uint16(src[1:]))
			steps = append(steps, scriptStep{clock.Kind(src[0]), ms * clock.Millisecond, int32(src[3]) << 6, ms * clock.Millisecond / 4})
		}
		runScript(t, c, steps)
	})
}

func TestHostileTimes(t *testing.T) {
	for _, c := range scriptConfigs {
		tr := clock.NewTransport(c)
		for _, at := range []clock.Time{math.MinInt64, -1, 0, 5, 1, math.MaxInt64, 0, math.MaxInt64 - 1} {
			for k := clock.Kind(0); k < 12; k++ {
				tr.Handle(clock.Event{At: at, Kind: k, Sixteenths: math.MinInt32, Tempo: math.MinInt64})
				tr.Handle(clock.Event{At: at, Kind: k, Sixteenths: math.MaxInt32, Tempo: math.MaxInt64})
				for _, ask := range []clock.Time{math.MinInt64, 0, math.MaxInt64} {
					p := tr.At(ask)
					require.GreaterOrEqual(t, p.Tempo, clock.MinTempo, "tempo")
					require.LessOrEqual(t, p.Tempo, clock.MaxTempo, "tempo")
					tr.When(math.MinInt64)
					tr.When(p.Beat)
				}
			}
		}
	}
}

// TestEveryProcessorAgrees pins the positions of a long script, so that a
// processor that fuses multiplication and addition (arm64, GOAMD64=v3) is seen
// if it rounds differently. The clock also falls silent at times.
func TestEveryProcessorAgrees(t *testing.T) {
	tr := clock.NewTransport(clock.Config{})
	sum := fnv.New64a()
	now, noise := clock.Second, uint64(1)
	for i := range 4000 {
		noise = noise*6364136223846793005 + 1442695040888963407
		e := clock.Event{Kind: clock.Tick24, Sixteenths: int32(noise >> 50), Tempo: clock.BPM(90)}
		if i%400 == 17 {
			e.Kind = clock.Kind(i/400%8) + 1
		}
		now += 19*clock.Millisecond + clock.Time(noise>>40)/8
		if i%400 == 300 {
			now += clock.Second + clock.Time(noise>>40)*50
		}
		e.At = now
		tr.Handle(e)
		p := tr.At(now + 7*clock.Millisecond)
		var b [24]byte
		binary.LittleEndian.PutUint64(b[:], uint64(p.Beat))
		binary.LittleEndian.PutUint64(b[8:], uint64(p.Pulse))
		binary.LittleEndian.PutUint64(b[16:], uint64(p.Tempo))
		sum.Write(b[:])
	}
	assert.Equal(t, uint64(0x5c97eaf6bf35a03a), sum.Sum64(), "digest")
}
