package clock

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Taps of a hand: each falls off its beat by a normal deviate. The spread of a
// musician's taps around the beat is 10 to 30 ms (Repp 2005, "Sensorimotor
// synchronization: a review of the tapping literature", Psychonomic Bulletin &
// Review 12; from memory). The bounds are the 95th percentiles over 400 seeded
// series at 120 BPM; beside them is the plain way, the mean of all intervals so
// far with the phase of the last tap.
func TestTapsOfAHand(t *testing.T) {
	const beat = 500e6
	for _, c := range []struct {
		sd           float64 // ms
		taps         int
		tempo, phase float64 // at most, % and ms
	}{
		{10, 3, 3.2, 19},
		{10, 4, 1.9, 17},
		{10, 8, 0.65, 13},
		{20, 3, 6.4, 37},
		{20, 4, 3.7, 34},
		{20, 8, 1.3, 26},
		{30, 3, 9.5, 56},
		{30, 4, 5.6, 51},
		{30, 8, 2.0, 39},
	} {
		var tempo, phase, plainTempo, plainPhase []float64
		for seed := range uint64(400) {
			r := rand.New(rand.NewPCG(seed, uint64(c.sd)))
			s := &tapper{}
			first, last := 0.0, 0.0
			for i := range c.taps {
				last = float64(i)*beat + r.NormFloat64()*c.sd*1e6
				if i == 0 {
					first = last
				}
				s.tap(Second + Time(last))
			}
			period, at := s.line()
			truth := float64(c.taps-1) * beat
			tempo = append(tempo, 100*math.Abs(period/beat-1))
			phase = append(phase, math.Abs(float64(at-Second)-truth)/1e6)
			mean := (last - first) / float64(c.taps-1)
			plainTempo = append(plainTempo, 100*math.Abs(mean/beat-1))
			plainPhase = append(plainPhase, math.Abs(last-truth)/1e6)
		}
		p95 := func(x []float64) float64 { slices.Sort(x); return x[len(x)*95/100] }
		t.Logf("s.d. %2.0f ms, %d taps: tempo %.2f %% (plain %.2f %%), phase %.1f ms (plain %.1f ms)",
			c.sd, c.taps, p95(tempo), p95(plainTempo), p95(phase), p95(plainPhase))
		assert.LessOrEqual(t, p95(tempo), c.tempo, "s.d. %v ms, %d taps: error of the tempo in per cent", c.sd, c.taps)
		assert.LessOrEqual(t, p95(phase), c.phase, "s.d. %v ms, %d taps: error of the phase in ms", c.sd, c.taps)
		if c.taps > 3 {
			assert.LessOrEqual(t, p95(tempo), p95(plainTempo)*1.02, "s.d. %v ms, %d taps: worse than the plain way", c.sd, c.taps)
		}
		assert.LessOrEqual(t, p95(phase), p95(plainPhase)*1.02, "s.d. %v ms, %d taps: worse than the plain way", c.sd, c.taps)
	}
}

// Once taps lead, those that follow bend the line by a tenth of the tempo at
// most, whatever the hand does, and keep it near the true beat.
func TestLaterTapsDoNotJerk(t *testing.T) {
	for seed := range uint64(50) {
		r := rand.New(rand.NewPCG(seed, 9))
		tr := NewTransport(Config{Lead: LeadTap})
		tr.Handle(Event{At: Second, Kind: Start})
		const beat = 500 * Millisecond
		var last Beat
		for i := range 40 {
			truth := Second + Time(i)*beat
			at := truth + Time(max(-60, min(60, r.NormFloat64()*20))*1e6)
			for probe := truth - beat/2 + 70*Millisecond; i > 12 && probe < at; probe += 5 * Millisecond {
				a, b := tr.At(probe), tr.At(probe+5*Millisecond)
				rate := float64(b.Beat-a.Beat) / (rateOf(a.Tempo) * float64(5*Millisecond))
				require.GreaterOrEqual(t, rate, 1-gentleSlew-1e-4, "seed %d, tap %d", seed, i)
				require.LessOrEqual(t, rate, 1+gentleSlew+1e-4, "seed %d, tap %d", seed, i)
				require.GreaterOrEqual(t, a.Beat, last, "seed %d, tap %d: the beat ran back", seed, i)
				last = a.Beat
			}
			tr.Handle(Event{At: at, Kind: Tap})
			if b := tr.At(truth).Beat; i > 12 {
				off := b - b.RoundTo(Quarter)
				assert.LessOrEqual(t, max(off, -off), Quarter/8, "seed %d, tap %d: %.3f of a beat off the true one", seed, i, off.Quarters())
			}
		}
	}
}
