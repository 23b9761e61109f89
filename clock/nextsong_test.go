package clock

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
)

// A song at another tempo, after a pause without ticks, is locked to before its
// downbeat: two beats of ticks come before the Start. 5 ms of jitter.
func TestTempoLockNextSong(t *testing.T) {
	numbersOnly(t)
	bad, worst := 0, 0.0
	for seed := range uint64(400) {
		r := rand.New(rand.NewPCG(seed, 9))
		late := model(poor)
		p := NewTransport(Config{Ahead: 50 * Millisecond})
		at, arrival := Second, Time(0)
		ticks := func(n int, bpm float64) {
			for range n {
				arrival = max(arrival, (at+Time(late(r))+Millisecond-1)/Millisecond*Millisecond)
				p.Handle(Event{At: arrival, Kind: Tick24})
				at += Time(60e9 / 24 / bpm)
			}
		}
		ticks(24*20, 50+150*r.Float64())
		p.Handle(Event{At: arrival, Kind: Stop})
		at += Time(r.Int64N(int64(20 * Second)))
		bpm := 50 + 150*r.Float64()
		ticks(48, bpm)
		p.Handle(Event{At: arrival, Kind: Start})
		ticks(6, bpm)
		off := math.Abs(p.At(arrival).Tempo.BPM()/bpm - 1)
		worst = max(worst, off)
		if off > 0.02 {
			bad++
		}
	}
	t.Logf("tempo off by more than 2 %% in %d of 400, at worst %.2f %%", bad, 100*worst)
	assert.LessOrEqual(t, bad, 8, "cases of 400 whose tempo is off by more than 2 %")
}
