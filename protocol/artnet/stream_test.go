package artnet

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"

	"tactus/clock"
	"tactus/protocol/dmx"
)

// At the full rate every frame that comes is sent, though the first is very late, the
// others are up to 17 ms late, and one in twenty does not come at all; only the
// second may make way for the first.
func TestMissedFramesCostNoOthers(t *testing.T) {
	s := newStream(UniverseConfig{Rate: dmx.MaxRate, Slots: dmx.Slots})
	r := rand.New(rand.NewPCG(1, 2))
	var levels [dmx.Slots]byte
	came, sent := 0, 0
	for n := range int64(44 * 60) {
		if n > 1 && r.IntN(20) == 0 {
			continue
		}
		late := clock.Time(r.Int64N(int64(17 * clock.Millisecond)))
		if n == 0 {
			late = 20 * clock.Millisecond
		}
		now := clock.Time(n*int64(clock.Second)/44) + late
		came++
		if s.due(now, &levels) {
			s.prepare(now, &levels)
			sent++
		}
	}
	assert.GreaterOrEqual(t, sent, came-1, "%d frames sent", came)
}
