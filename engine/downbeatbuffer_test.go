package engine

import (
	"math"
	"slices"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/clock"
)

// An audio buffer as many DAWs have it.
const (
	bufferSamples = 1024
	bufferRate    = 48000 // samples a second
	bufferLength  = clock.Second * bufferSamples / bufferRate
)

// buffered plays bars as a DAW that hands out its MIDI once in each audio buffer:
// what falls into a buffer leaves when the buffer begins. So ticks come early, by up
// to 21 ms, and some in pairs. The first tick lies so many samples into its buffer.
// With notes, the DAW enters each section by its note. It returns how far from its
// true moment the first tick of each bar left.
func (g *gig) buffered(song *Song, bpm float64, bars, into int, notes bool) (off []time.Duration) {
	next := 0 // section
	for n := range bars * 96 {
		sample := float64(n)*bufferRate*60/24/bpm + float64(into)
		begin := math.Floor(sample/bufferSamples) * bufferSamples
		g.until(clock.Second + clock.Time((begin-float64(into))/bufferRate*1e9))
		if n == 0 {
			g.event(clock.Start)
		}
		if next < len(song.Sections) && song.Sections[next].Start == clock.Beat(n)*clock.Tick {
			if notes {
				g.input <- Input{At: g.base.Now(), Command: Command{Kind: FireNote, Index: int32(song.Sections[next].Note)}}
			}
			next++
		}
		g.event(clock.Tick24)
		if n%96 == 0 {
			off = append(off, time.Duration((begin-sample)/bufferRate*1e9))
		}
	}
	return off
}

// bufferedDownbeats returns how far from its true downbeat the first frame of each
// bar's cue left, and the bar's first tick, once the clock has had four bars to
// settle.
func bufferedDownbeats(t *testing.T, bpm float64, into int, notes bool) (off, ticks []time.Duration) {
	const bars, settle = 60, 4
	synctest.Test(t, func(t *testing.T) {
		f, p := &flips{}, sectioned(t, bars/2)
		g := play(t, func(c *LoopConfig) { c.Engine, c.Outputs = New(p), []Output{f} })
		g.command(Command{Kind: SelectSong, Index: 0})
		ticks = g.buffered(&p.Songs[0], bpm, bars, into, notes)[settle:]
		require.NoError(t, g.end())
		for bar := settle; bar < bars; bar++ {
			want := clock.Second + clock.Time(float64(bar)*240/bpm*1e9)
			i, _ := slices.BinarySearch(f.at, want-200*clock.Millisecond)
			require.Less(t, i, len(f.at), "bar %d: its cue never came", bar)
			off = append(off, f.at[i].Sub(want))
		}
	})
	return off, ticks
}

// fromMedian returns the median, and how far from it each lies, the nearest first.
func fromMedian(off []time.Duration) (median time.Duration, apart []time.Duration) {
	apart = slices.Sorted(slices.Values(off))
	median = apart[len(apart)/2]
	for i := range apart {
		apart[i] = (apart[i] - median).Abs()
	}
	slices.Sort(apart)
	return median, apart
}

// The first frame of a downbeat's cue leaves within 2 ms, 99 times in 100, of a
// constant offset when ticks and notes come once in each audio buffer of 1,024
// samples at 48 kHz. The constant is the median of the run: ticks that are early by
// anything up to a buffer are early by half of one on average, and nothing tells
// that from a clock that is early. A DAW that sends when the buffer ends, and not
// when it begins, makes the constant a whole buffer later and changes nothing else.
func TestDownbeatThroughAudioBuffers(t *testing.T) {
	phases := 8
	if raceDetector {
		phases = 2
	}
	for _, bpm := range []float64{120, 126} {
		var apart, strayed []time.Duration
		for phase := range phases {
			into, notes := phase*bufferSamples/phases, phase%2 == 1
			off, ticks := bufferedDownbeats(t, bpm, into, notes)
			constant, some := fromMedian(off)
			assert.InDelta(t, float64(-bufferLength/2), float64(constant), float64(bufferLength/8),
				"%v BPM, %d samples in: the constant is half a buffer and no tick more or less", bpm, into)
			t.Logf("%v BPM, %d samples in, notes %v: constant %v, %d downbeats up to %v from it",
				bpm, into, notes, constant, len(off), some[len(some)-1])
			apart = append(apart, some...)
			_, some = fromMedian(ticks)
			strayed = append(strayed, some...)
		}
		slices.Sort(apart)
		slices.Sort(strayed)
		p99, ticks := apart[len(apart)*99/100], strayed[len(strayed)*99/100]
		t.Logf("%v BPM: %d downbeats, p99 %v from the constant, worst %v; their ticks' p99 %v", bpm, len(apart), p99, apart[len(apart)-1], ticks)
		assert.LessOrEqual(t, p99, 2*time.Millisecond, "%v BPM", bpm)
		assert.Greater(t, ticks, 5*time.Millisecond, "%v BPM: the ticks come too evenly for this test to tell anything", bpm)
	}
}
