package clock

import (
	"math"
	"testing"
)

func TestStripDebug(t *testing.T) {
	b := 1024 / 48000. * 1e9
	p := periodOf(BPM(117.3))
	var s strip
	var last float64
	ev := 0
	for k := range 700 {
		T := 5.123e6 + float64(k)*p
		A := math.Floor(T/b) * b
		if k == 0 {
			s.begin(p*1.001, 0, b)
		} else if !s.tick(A-last, 1, 0, b) {
			t.Fatalf("empty at %d", k)
		}
		if A == last {
			ev = k
		}
		last = A
		if k%50 == 49 || ev > 0 && k-ev < 3 {
			m, h := s.middle()
			t.Logf("%d ev %d n %d off %.3f (true %.3f) half %.3f bpm %.4f half %.4f", k, ev, s.n, m.off/1e6, (T-A-b)/1e6, h.off/1e6, 2.5e9/m.period, 2.5e9/m.period*h.period/m.period)
		}
	}
}
