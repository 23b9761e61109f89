package clock

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
)

// tapAll feeds taps at the given ms and returns the tapper.
func tapAll(ms ...float64) *tapper {
	s := &tapper{}
	for _, at := range ms {
		s.tap(Second + Time(at*1e6))
	}
	return s
}

func TestTapTempo(t *testing.T) {
	for _, c := range []struct {
		name string
		taps []float64 // ms
		want float64   // BPM; 0: none yet
	}{
		{"one", []float64{0}, 0},
		{"two", []float64{0, 500}, 0},
		{"three", []float64{0, 500, 1000}, 120},
		{"four", []float64{0, 600, 1200, 1800}, 100},
		{"one missed", []float64{0, 500, 1000, 2000, 2500}, 120},
		{"two missed", []float64{0, 500, 1000, 2500, 3000}, 120},
		{"a bounce", []float64{0, 500, 560, 1000, 1500}, 120},
		{"a late bounce", []float64{0, 500, 1000, 1180, 1500, 2000}, 120},
		{"a bounce at the start", []float64{0, 60, 500, 1000}, 120},
		{"afresh after a pause", []float64{0, 500, 1000, 4000, 4600}, 0},
		{"afresh with a tempo", []float64{0, 500, 1000, 4000, 4600, 5200}, 100},
		{"a new tempo without a pause", []float64{0, 500, 1000, 1500, 1870, 2240, 2610}, 60000 / 370.},
	} {
		s := tapAll(c.taps...)
		if assert.Equal(t, c.want != 0, s.ready(), "%s: a tempo", c.name) && s.ready() {
			assert.InDelta(t, c.want, s.tempo().BPM(), 0.001, c.name)
		}
	}
}

func TestTapTempoOfAnUnsteadyHand(t *testing.T) {
	// A hand is steady to about 20 ms (common practice, no source): four taps
	// give the tempo to 8 %, eight to 2.5 %, whatever the seed.
	for seed := range uint64(500) {
		r := rand.New(rand.NewPCG(seed, 3))
		s := &tapper{}
		for i := range 8 {
			s.tap(Second + Time(float64(i)*500e6+(r.Float64()-0.5)*40e6))
			off := 0.
			if s.ready() {
				off = math.Abs(s.tempo().BPM()/120 - 1)
			}
			if i == 3 {
				assert.LessOrEqual(t, off, 0.08, "seed %d: off by %.1f %% after %d taps", seed, 100*off, i+1)
			}
			if i == 7 {
				assert.LessOrEqual(t, off, 0.025, "seed %d: off by %.1f %% after %d taps", seed, 100*off, i+1)
			}
		}
	}
}
