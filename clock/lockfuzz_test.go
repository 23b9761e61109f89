package clock

import (
	"encoding/binary"
	"math"
	"testing"

	"github.com/stretchr/testify/require"
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
		tr := NewTransport(Config{})
		at, before := Second, Position{}
		take := func(e Event) {
			tr.Handle(e)
			p := tr.At(e.At)
			require.GreaterOrEqual(t, p.Tempo, MinTempo)
			require.LessOrEqual(t, p.Tempo, MaxTempo)
			require.GreaterOrEqual(t, p.Err, Time(0))
			if p.Playing && before.Playing && p.Jumps == before.Jumps {
				require.GreaterOrEqual(t, p.Beat, before.Beat, "the beat ran back from %d to %d at %+v", before.Beat, p.Beat, e)
			}
			before = p
		}
		for src = src[2:]; len(src) >= 3; src = src[3:] {
			at += Time(binary.LittleEndian.Uint16(src[1:])) * Millisecond / 4
			take(Event{At: at, Kind: Kind(src[0] % 12), Sixteenths: int32(src[1]) << 5, Tempo: BPM(bpm), Beat: Beat(src[2]) * Quarter, Next: BPM(90)})
		}
		at += Time(2 * every)
		first := float64(at) + every
		take(Event{At: at, Kind: Stop})
		take(Event{At: at, Kind: Start})
		const ticks = 8 * 96
		period := periodOf(BPM(bpm))
		for n := range ticks {
			fell := first + float64(n)*period
			at = max(at, Time(math.Ceil(fell/every)*every))
			take(Event{At: at, Kind: Tick24})
		}
		truth := (float64(at) - first) / period
		off := (float64(tr.At(at).Beat)/float64(Tick) - truth) * period
		require.InDelta(t, 0, off, 1.5*every+1e6, "after eight bars of %v BPM through %v ms: error in ms", bpm, every/1e6)
	})
}
