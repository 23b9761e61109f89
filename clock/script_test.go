package clock

import (
	"encoding/binary"
	"hash/fnv"
	"math"
	"testing"

	"pgregory.net/rapid"
)

// scriptStep is one step of a transport script: an event some time after the last,
// and a look at the position some time ahead of it.
type scriptStep struct {
	kind  Kind
	after Time
	value int32
	ahead Time
}

// runScript plays a script and reports through fail what must never be: the
// beat running backwards while playing other than by a jump, a position that is
// not what the transport's own rules say, numbers out of range.
func runScript(c Config, steps []scriptStep, fail func(string, ...any)) []Position {
	tr := NewTransport(c)
	now := Second
	var seen []Position
	var before Position
	for i, s := range steps {
		now += s.after
		e := Event{At: now, Kind: s.kind, Sixteenths: s.value, Tempo: Tempo(s.value) * 10_000}
		pre := tr.At(now)
		tr.Handle(e)
		for _, at := range []Time{now, now + s.ahead} {
			p := tr.At(at)
			if again := tr.At(at); again != p {
				fail("step %d: asked twice, %+v and %+v", i, p, again)
			}
			if p.Playing && p.Pulse != p.Beat {
				fail("step %d: pulse %d, beat %d while playing", i, p.Pulse, p.Beat)
			}
			if p.Tempo < MinTempo || p.Tempo > MaxTempo {
				fail("step %d: tempo %d", i, p.Tempo)
			}
			seen = append(seen, p)
		}
		p := tr.At(now)
		if pre.Playing && before.Playing && pre.Jumps == before.Jumps && pre.Beat < before.Beat {
			fail("before step %d: the beat ran back from %d to %d", i, before.Beat, pre.Beat)
		}
		if p.Playing && pre.Jumps == p.Jumps && p.Beat < pre.Beat {
			fail("step %d: %+v: the beat ran back from %d to %d", i, s, pre.Beat, p.Beat)
		}
		if !p.Playing && !pre.Playing && p.Jumps == pre.Jumps && p.Beat != pre.Beat {
			fail("step %d: %+v: moved from %d to %d while stopped", i, s, pre.Beat, p.Beat)
		}
		before = p
	}
	return seen
}

var scriptConfigs = []Config{
	{}, {Lead: LeadMIDI}, {Lead: LeadTap, Internal: BPM(100)}, {Lead: LeadInternal, Internal: 1}, {Ahead: maxAhead},
}

// drawScript draws runs of ticks at a tempo with messages among them: like a
// master, only wilder.
func drawScript(t *rapid.T) []scriptStep {
	var steps []scriptStep
	for range rapid.IntRange(1, 12).Draw(t, "runs") {
		period := Time(periodOf(BPM(rapid.Float64Range(10, 500).Draw(t, "bpm"))))
		jitter := Time(rapid.Int64Range(0, int64(period)).Draw(t, "jitter"))
		for range rapid.IntRange(0, 60).Draw(t, "ticks") {
			after := period - jitter/2 + Time(rapid.Int64Range(0, int64(jitter)).Draw(t, "j"))
			steps = append(steps, scriptStep{Tick24, max(after, 0), 0, 20 * Millisecond})
		}
		steps = append(steps, scriptStep{
			Kind(rapid.IntRange(1, 8).Draw(t, "kind")),
			Time(rapid.Int64Range(0, int64(2*Second)).Draw(t, "after")),
			rapid.Int32Range(-100, 20_000).Draw(t, "value"),
			Time(rapid.Int64Range(0, int64(Second)).Draw(t, "ahead")),
		})
	}
	return steps
}

func TestScripts(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := rapid.SampledFrom(scriptConfigs).Draw(t, "config")
		steps := drawScript(t)
		first := runScript(c, steps, t.Fatalf)
		second := runScript(c, steps, t.Fatalf)
		for i := range first {
			if first[i] != second[i] {
				t.Fatalf("equal scripts, step %d: %+v and %+v", i/2, first[i], second[i])
			}
		}
	})
}

// TestScriptsAhead: a reader that looks no further ahead than it has said never
// sees the beat step back either.
func TestScriptsAhead(t *testing.T) {
	const ahead = 40 * Millisecond
	rapid.Check(t, func(t *rapid.T) {
		steps := drawScript(t)
		tr := NewTransport(Config{Ahead: ahead})
		now := Second
		var before Position
		for i, s := range steps {
			now += s.after
			tr.Handle(Event{At: now, Kind: s.kind, Sixteenths: s.value, Tempo: Tempo(s.value) * 10_000})
			p := tr.At(now + ahead)
			if p.Playing && before.Playing && p.Jumps == before.Jumps && p.Beat < before.Beat {
				t.Fatalf("step %d: %+v: the beat ran back from %d to %d", i, s, before.Beat, p.Beat)
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
			ms := Time(binary.LittleEndian.Uint16(src[1:]))
			steps = append(steps, scriptStep{Kind(src[0]), ms * Millisecond, int32(src[3]) << 6, ms * Millisecond / 4})
		}
		runScript(c, steps, t.Fatalf)
	})
}

func TestHostileTimes(t *testing.T) {
	for _, c := range scriptConfigs {
		tr := NewTransport(c)
		for _, at := range []Time{math.MinInt64, -1, 0, 5, 1, math.MaxInt64, 0, math.MaxInt64 - 1} {
			for k := Kind(0); k < 12; k++ {
				tr.Handle(Event{At: at, Kind: k, Sixteenths: math.MinInt32, Tempo: math.MinInt64})
				tr.Handle(Event{At: at, Kind: k, Sixteenths: math.MaxInt32, Tempo: math.MaxInt64})
				for _, ask := range []Time{math.MinInt64, 0, math.MaxInt64} {
					p := tr.At(ask)
					if p.Tempo < MinTempo || p.Tempo > MaxTempo {
						t.Fatalf("tempo %d", p.Tempo)
					}
					tr.When(math.MinInt64)
					tr.When(p.Beat)
				}
			}
		}
	}
}

// TestEveryProcessorAgrees pins the positions of a long script, so that a
// processor that fuses multiplication and addition (arm64, GOAMD64=v3) is seen
// if it rounds differently.
func TestEveryProcessorAgrees(t *testing.T) {
	tr := NewTransport(Config{})
	sum := fnv.New64a()
	now, noise := Second, uint64(1)
	for i := range 4000 {
		noise = noise*6364136223846793005 + 1442695040888963407
		e := Event{Kind: Tick24, Sixteenths: int32(noise >> 50), Tempo: BPM(90)}
		if i%400 == 17 {
			e.Kind = Kind(i/400%8) + 1
		}
		now += 19*Millisecond + Time(noise>>40)/8
		e.At = now
		tr.Handle(e)
		p := tr.At(now + 7*Millisecond)
		var b [24]byte
		binary.LittleEndian.PutUint64(b[:], uint64(p.Beat))
		binary.LittleEndian.PutUint64(b[8:], uint64(p.Pulse))
		binary.LittleEndian.PutUint64(b[16:], uint64(p.Tempo))
		sum.Write(b[:])
	}
	if got, want := sum.Sum64(), uint64(0x60975fa5ac1473dd); got != want {
		t.Errorf("digest %#x, want %#x", got, want)
	}
}
