package laptop_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"

	"tactus/clock"
	"tactus/cmd/tactus/laptop"
)

// Quantiles of known wakes, to the histogram's three figures.
func TestProbe(t *testing.T) {
	p := laptop.NewProbe()
	for i := range 1000 {
		due := clock.Time(i) * 22 * clock.Millisecond
		p.FrameWoke(due, due-1) // too early: none
		p.FrameWoke(due, due+clock.Time(i+1)*10*clock.Microsecond)
		p.WorkEnded(due + clock.Time(i+1)*10*clock.Microsecond + 2*clock.Millisecond)
		p.WorkEnded(due + 21*clock.Millisecond) // a second wait for the same frame
	}
	late, work := p.Late(), p.Work()
	for _, c := range []struct{ have, want float64 }{{late.P50, 5}, {late.P99, 9.9}, {late.Worst, 10}, {work.P50, 2}, {work.Worst, 2}} {
		assert.InDelta(t, c.want, c.have, 0.002*c.want)
	}
	assert.EqualValues(t, 1000, p.Wakes())
	assert.Zero(t, testing.AllocsPerRun(100, func() { p.FrameWoke(0, 20*clock.Second); p.WorkEnded(clock.Second) }))
}

// Ticks at 120 BPM with half-normal delays of 2 ms: a mean delay of
// 2·√(2/π) = 1.60 ms and a deviation of 2·√(1−2/π) = 1.21 ms.
func TestJitter(t *testing.T) {
	const interval = clock.Second / 48
	random := rand.New(rand.NewPCG(3, 4))
	ticks := laptop.NewTicks()
	at := clock.Time(0)
	for i := range 3000 {
		if at += interval; i == 1500 {
			at += 10 * clock.Second // a pause is no jitter
		}
		ticks.Handle(clock.Event{At: at + clock.Time(math.Abs(random.NormFloat64())*2e6), Kind: clock.Tick24})
		ticks.Handle(clock.Event{At: at, Kind: clock.Start})
	}
	j := ticks.Jitter()
	assert.Equal(t, 3000, j.Ticks, "noise 1.21 ms, delay 1.6 ms")
	assert.InDelta(t, 120, j.Tempo, 0.2, "noise 1.21 ms, delay 1.6 ms")
	assert.InDelta(t, 1.21, j.Noise, 0.1, "noise 1.21 ms, delay 1.6 ms")
	assert.InDelta(t, 1.6, j.Delay, 0.3, "noise 1.21 ms, delay 1.6 ms")
	assert.LessOrEqual(t, 100*math.Abs(j.Tempo-120)/120, 4*j.TempoError, "percent by which the tempo %v BPM is off, against four times the error that is told", j.Tempo)
	assert.LessOrEqual(t, j.TempoError, 0.05, "error of the tempo that is told, in percent")
	few := laptop.NewTicks()
	for i := range clock.Time(5) {
		few.Handle(clock.Event{At: i * interval, Kind: clock.Tick24})
	}
	assert.Equal(t, laptop.Jitter{Ticks: 5}, few.Jitter(), "from five ticks")
}
