package clock_test

import (
	"encoding/binary"
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"tactus/clock"
)

// FuzzTempoLock plays anything at all, and then eight bars of steady ticks through
// the audio buffers of a sender. The beat never runs back while it plays, but for
// jumps, and is a number; and after the eight bars it is within a buffer of the
// truth, whatever came before.
func FuzzTempoLock(f *testing.F) {
	f.Add([]byte{0, 120})
	f.Add([]byte{1, 60, 1, 20, 0, 1, 20, 0, 1, 20, 0, 1, 0, 0, 1, 90, 0})
	f.Add([]byte{2, 174, 2, 0, 0, 1, 15, 0, 1, 15, 0, 8, 1, 1, 1, 255, 255, 4, 0, 0, 3, 9, 0})
	f.Add([]byte{3, 99, 1, 200, 3, 1, 200, 3, 1, 200, 3, 11, 7, 7, 1, 1, 0, 1, 1, 0})
	f.Fuzz(func(t *testing.T, src []byte) {
		if len(src) < 2 {
			return
		}
		buffers := [...]float64{1e3, 128 / 48., 512 / 44.1, 1024 / 48.}
		every := buffers[src[0]%4] * 1e6
		if src[0]%4 == 0 {
			every = 1e3
		}
		bpm := 60 + float64(src[1])/2
		tr := clock.NewTransport(clock.Config{})
		at, before := clock.Second, clock.Position{}
		take := func(e clock.Event) {
			tr.Handle(e)
			p := tr.At(e.At)
			require.GreaterOrEqual(t, p.Tempo, clock.MinTempo)
			require.LessOrEqual(t, p.Tempo, clock.MaxTempo)
			require.GreaterOrEqual(t, p.Err, clock.Time(0))
			if p.Playing && before.Playing && p.Jumps == before.Jumps {
				require.GreaterOrEqual(t, p.Beat, before.Beat, "the beat ran back from %d to %d at %+v", before.Beat, p.Beat, e)
			}
			before = p
		}
		for src = src[2:]; len(src) >= 3; src = src[3:] {
			at += clock.Time(binary.LittleEndian.Uint16(src[1:])) * clock.Millisecond / 4
			take(clock.Event{At: at, Kind: clock.Kind(src[0] % 12), Sixteenths: int32(src[1]) << 5, Tempo: clock.BPM(bpm), Beat: clock.Beat(src[2]) * clock.Quarter, Next: clock.BPM(90)})
		}
		at += clock.Time(2 * every)
		first := float64(at) + every
		take(clock.Event{At: at, Kind: clock.Stop})
		take(clock.Event{At: at, Kind: clock.Start})
		const ticks = 8 * 96
		period := tickLength(clock.BPM(bpm))
		for n := range ticks {
			fell := first + float64(n)*period
			at = max(at, clock.Time(math.Ceil(fell/every)*every))
			take(clock.Event{At: at, Kind: clock.Tick24})
		}
		truth := (float64(at) - first) / period
		off := (float64(tr.At(at).Beat)/float64(clock.Tick) - truth) * period
		require.InDelta(t, 0, off, 1.5*every+1e6, "after eight bars of %v BPM through buffers of %v ms: error in ns", bpm, every/1e6)
	})
}
