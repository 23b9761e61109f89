package laptop

import (
	"math"
	"math/rand/v2"
	"testing"

	"tactus/clock"
)

// Quantiles of known wakes, to the histogram's three figures.
func TestProbe(t *testing.T) {
	p := NewProbe()
	for i := range 1000 {
		due := clock.Time(i) * 22 * clock.Millisecond
		p.Woke(due, due-1) // too early: none
		p.Woke(due, due+clock.Time(i+1)*10*clock.Microsecond)
		p.Asleep(due + clock.Time(i+1)*10*clock.Microsecond + 2*clock.Millisecond)
		p.Asleep(due + 21*clock.Millisecond) // a second wait for the same frame
	}
	late, work := p.Late(), p.Work()
	for _, c := range []struct{ have, want float64 }{{late.P50, 5}, {late.P99, 9.9}, {late.Worst, 10}, {work.P50, 2}, {work.Worst, 2}} {
		if math.Abs(c.have-c.want) > 0.002*c.want {
			t.Errorf("%v ms, want %v", c.have, c.want)
		}
	}
	if p.Wakes() != 1000 {
		t.Errorf("%d wakes, want 1000", p.Wakes())
	}
	if n := testing.AllocsPerRun(100, func() { p.Woke(0, 20*clock.Second); p.Asleep(clock.Second) }); n != 0 {
		t.Errorf("%v allocations, want 0", n)
	}
}

// Ticks at 120 BPM with half-normal delays of 2 ms: a mean delay of
// 2·√(2/π) = 1.60 ms and a deviation of 2·√(1−2/π) = 1.21 ms.
func TestJitter(t *testing.T) {
	const interval = clock.Second / 48
	random := rand.New(rand.NewPCG(3, 4))
	ticks := NewTicks()
	at := clock.Time(0)
	for i := range 3000 {
		if at += interval; i == 1500 {
			at += 10 * clock.Second // a pause is no jitter
		}
		ticks.Handle(clock.Event{At: at + clock.Time(math.Abs(random.NormFloat64())*2e6), Kind: clock.Tick24})
		ticks.Handle(clock.Event{At: at, Kind: clock.Start})
	}
	j := ticks.Jitter()
	if j.Ticks != 3000 || math.Abs(j.Tempo-120) > 0.2 || math.Abs(j.Noise-1.21) > 0.1 || math.Abs(j.Delay-1.6) > 0.3 {
		t.Errorf("%+v: want 120 BPM, noise 1.21 ms, delay 1.6 ms", j)
	}
	if off := 100 * math.Abs(j.Tempo-120) / 120; off > 4*j.TempoError || j.TempoError > 0.05 {
		t.Errorf("tempo is off by %.4f %%, told was %.4f %%", off, j.TempoError)
	}
	if few := (&Ticks{at: make([]clock.Time, 5)}).Jitter(); few != (Jitter{Ticks: 5}) {
		t.Errorf("%+v from five ticks", few)
	}
}
