package artnet

import (
	"math/rand/v2"
	"testing"

	"tactus/clock"
	"tactus/protocol/dmx"
)

// At the full rate every frame that comes is sent, though frames are up to 3 ms
// late and one in twenty does not come at all.
func TestMissedFramesCostNoOthers(t *testing.T) {
	s := newStream(UniverseConfig{Rate: dmx.MaxRate, Slots: dmx.Slots})
	r := rand.New(rand.NewPCG(1, 2))
	var levels [dmx.Slots]byte
	came, sent := 0, 0
	for n := range int64(44 * 60) {
		if r.IntN(20) == 0 {
			continue
		}
		now := clock.Time(n*int64(clock.Second)/44) + clock.Time(r.Int64N(int64(3*clock.Millisecond)))
		came++
		if s.due(now, &levels) {
			s.load(now, &levels)
			sent++
		}
	}
	if sent != came {
		t.Errorf("%d of %d frames sent", sent, came)
	}
}
