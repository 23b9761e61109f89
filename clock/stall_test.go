package clock_test

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"tactus/clock"
)

// A stall holds ticks up and then lets them all out at once; a gap swallows
// them. Neither moves the tempo or the beat, however long it takes: the clock
// goes on where it was going.
func TestStallsAndGaps(t *testing.T) {
	clock.NumbersOnly(t)
	for _, bpm := range []float64{60, 72, 128, 174} {
		for _, length := range []clock.Time{40, 100, 250, 430, 800, 1500, 4000} {
			for _, apart := range []clock.Time{50 * clock.Microsecond, clock.Millisecond} {
				name := fmt.Sprintf("%v BPM, %d ms, then a tick each %v", bpm, length, apart.Sub(0))
				t.Run(name, func(t *testing.T) { checkStall(t, bpm, length*clock.Millisecond, apart) })
			}
			t.Run(fmt.Sprintf("%v BPM, %d ms without ticks", bpm, length), func(t *testing.T) {
				checkStall(t, bpm, length*clock.Millisecond, 0)
			})
		}
	}
}

const stallTicks = 720

// stalled lists when each tick arrives whose true time is n periods; held ticks
// come apart from each other, or with apart 0 not at all.
func stalled(period float64, from, length, apart clock.Time) (at []clock.Time) {
	next := from + length
	for n := range stallTicks {
		due := clock.Time(float64(n) * period)
		if due > from && due < next {
			if apart == 0 {
				continue
			}
			at = append(at, next)
			next += apart
			continue
		}
		at = append(at, due)
	}
	return at
}

func checkStall(t *testing.T, bpm float64, length, apart clock.Time) {
	for _, tick := range []float64{240.05, 240.25, 240.5, 240.75, 240.95} {
		checkStallAt(t, tick, bpm, length, apart)
	}
}

// checkStallAt begins the stall at a place in the song, in ticks.
func checkStallAt(t *testing.T, tick, bpm float64, length, apart clock.Time) {
	tr := clock.NewTransport(clock.Config{})
	period := 60e9 / 24 / bpm
	tr.Handle(clock.Event{At: -clock.Millisecond, Kind: clock.Start})
	from := clock.Time(tick * period)
	ticks := stalled(period, from, length, apart)
	end := clock.Time((stallTicks - 1) * period)
	i := 0
	for now := clock.Time(0); now < end; now += clock.Second / 44 {
		for ; i < len(ticks) && ticks[i] <= now; i++ {
			tr.Handle(clock.Event{At: ticks[i], Kind: clock.Tick24})
		}
		if float64(now) < 100*period {
			continue // not locked yet
		}
		p := tr.At(now)
		require.LessOrEqual(t, math.Abs((p.Tempo.BPM()/bpm - 1)), 0.002, "at %v: %v", now.Sub(0), p.Tempo)
		require.LessOrEqual(t, math.Abs((p.Beat.Quarters() - float64(now)/period/24)), 0.01, "at %v, %v after the stall began: beats that it is off by", now.Sub(0), (now - from).Sub(0))
	}
}
