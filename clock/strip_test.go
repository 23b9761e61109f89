package clock

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The lines that a strip keeps always hold the true one, however the ticks fall in
// their steps; and once the steps have told, they hold little else. At 117.3 BPM a
// tick is a thousandth shorter than a buffer of 1,024 samples at 48 kHz: for five
// seconds each tick comes a buffer after the one before, and the tempo looks like
// 117.19 BPM.
func TestStripHoldsTheTrueLine(t *testing.T) {
	NumbersOnly(t)
	for _, c := range []struct {
		bpm, every float64
		ticks      int
		off        float64 // ms, half of what is left
	}{
		{120, 1024 / 48., 400, 0.5},
		{126, 1024 / 48., 400, 0.5},
		{117.3, 1024 / 48., 2600, 0.5},
		{93, 2048 / 44.1, 400, 1.5},
		{150, 15.625, 400, 0.6}, // fifteen ticks are sixteen steps: there are fifteen places in a step, no more
	} {
		for seed := range uint64(10) {
			r := rand.New(rand.NewPCG(seed, 5))
			every, period, first := c.every*1e6, periodOf(BPM(c.bpm)), r.Float64()*1e8
			var s strip
			var last float64
			for k := range c.ticks {
				fell := first + float64(k)*period
				came := math.Ceil(fell/every) * every
				if k == 0 {
					s.begin(period*1.01, 10, every+10)
				} else {
					require.True(t, s.tick(came-last, 1, 10, every+10), "%v BPM, seed %d: no line is left at tick %d", c.bpm, seed, k)
				}
				last = came
				mid, half := s.middle()
				require.LessOrEqual(t, math.Abs(mid.off-(fell-came)), 2*half.off+1e3, "%v BPM, seed %d, tick %d", c.bpm, seed, k)
			}
			_, half := s.middle()
			assert.LessOrEqual(t, half.off/1e6, c.off, "%v BPM, seed %d", c.bpm, seed)
		}
	}
}
