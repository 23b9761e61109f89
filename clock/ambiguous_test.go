package clock

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// What ticks cannot tell. Two songs, a and b, whose ticks arrive at the same moments
// make any follower that sees only ticks show one position e(t) for both. Its errors
// are e-a and e-b, which differ by b-a whatever e is. So of the two errors at least
// one is half of b-a or more; and, about the best constant of each, half the range of
// e-a and half the range of e-b add up to at least half the range of b-a. No follower
// can do better than that on both songs; the lock is held to it, and a little room.

// sameTicks plays the ticks that two songs have in common, and returns how far the
// lock is off each of them, ms, at looks from tick from on.
func sameTicks(a, b, arrivals []Time, from int) (offA, offB []float64) {
	tr := NewTransport(Config{})
	tr.Handle(Event{At: arrivals[0] - 1, Kind: Start})
	next := 0
	for at := arrivals[0]; at < min(a[len(a)-1], b[len(b)-1]); at += look {
		for ; next < len(arrivals) && arrivals[next] <= at; next++ {
			tr.Handle(Event{At: arrivals[next], Kind: Tick24})
		}
		if next <= from {
			continue
		}
		off := func(sent []Time) float64 {
			i, _ := slices.BinarySearch(sent, at)
			i = max(i, 1)
			period := float64(sent[i] - sent[i-1])
			truth := float64(i-1) + float64(at-sent[i-1])/period
			return (float64(tr.At(at).Beat)/float64(Tick) - truth) * period / 1e6
		}
		offA, offB = append(offA, off(a)), append(offB, off(b))
	}
	return offA, offB
}

func halfRange(x []float64) float64 { return (slices.Max(x) - slices.Min(x)) / 2 }

// A song that holds its breath for 10 ms, and a song that goes on while all of its
// messages come 10 ms later from then on, send the same ticks. The lock takes the
// ticks at their word: it is right about the first song to 0.1 ms two beats later, and
// off by the slip, not more, about the second.
func TestASlipCannotBeToldFromALateSong(t *testing.T) {
	NumbersOnly(t)
	const slip, after = 10 * Millisecond, 720
	goesOn := steady(BPM(120), 1440)
	waits := make([]Time, len(goesOn))
	for i, at := range goesOn {
		if waits[i] = at; i >= after {
			waits[i] += slip
		}
	}
	a, b := sameTicks(waits, goesOn, waits, after+48)
	for i := range a {
		require.InDelta(t, 0, a[i], 0.1, "ms off the song that waits")
		require.InDelta(t, -10, b[i], 0.1, "ms off the song that goes on")
	}
}

// Ticks through audio buffers of nearly their own length fall one into each buffer,
// until the tempo has drifted by a whole buffer. Until then a song a little slower
// than that, whose ticks fall ever later in their buffers, and one a little faster,
// whose ticks fall ever earlier, send the same ticks: 117 BPM and 117.376 BPM through
// 1,024 samples at 48 kHz for the first 600. Their beats differ by 21 ms one way at
// first, and 20 ms the other way in the end.
func TestTicksOfABufferEachTellNoTempo(t *testing.T) {
	NumbersOnly(t)
	const n = 600
	buffer := 1024 / 48000.0 * 1e9
	var slower, faster, arrivals []Time
	for i := range n {
		start := 1e9 + float64(i)*buffer
		drift := float64(i) * (periodOf(BPM(117)) - buffer)
		arrivals = append(arrivals, Time(start))
		slower = append(slower, Time(start+0.1e6+drift))
		faster = append(faster, Time(start+21.2e6-drift))
	}
	for _, sent := range [][]Time{slower, faster} {
		for i, at := range sent {
			require.Equal(t, i, int((float64(at)-1e9)/buffer), "tick %d is in buffer %d", i, i)
		}
	}
	a, b := sameTicks(slower, faster, arrivals, 96)
	apart := make([]float64, len(a))
	for i := range a {
		apart[i] = b[i] - a[i]
	}
	least := halfRange(apart)
	got := halfRange(a) + halfRange(b)
	t.Logf("half ranges: %.2f ms and %.2f ms, together %.2f ms; no follower can be below %.2f ms", halfRange(a), halfRange(b), got, least)
	assert.LessOrEqual(t, got, 1.05*least+0.1, "ms, both songs together")
}
