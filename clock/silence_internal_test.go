package clock

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
)

// Before a silence of up to four beats, late ticks can look like a tempo that falls. The
// clock is taken up at the tick that the master is at: the last bar's straight line is
// followed too, and the ticks that come decide. Ticks are late by the model of a poor
// link, the last before the silence ever more; the tempo climbs or falls by up to 6 BPM a
// minute until then. Some of these cannot be told from a tempo that falls by 5 %.
func TestSilenceOfATempoThatMoves(t *testing.T) {
	NumbersOnly(t)
	const silences = 100
	more := []float64{3, 6, 5, 8, 8, 10, 9, 14} // ms
	wrong, worst := 0, 0.0                      // ticks
	for seed := range uint64(silences) {
		r := rand.New(rand.NewPCG(seed, 47))
		late := model(poor)
		p := NewTransport(Config{})
		bpm, ramp := 60+120*r.Float64(), 12*(r.Float64()-0.5)
		sent, last, n := Second, Time(0), 0
		p.Handle(Event{At: sent - Millisecond, Kind: Start})
		var growing bool // lateness of the last ticks
		send := func(count int, heard bool) {
			for i := range count {
				if heard {
					by := late(r)
					if i >= count-len(more) && growing {
						by += more[i-count+len(more)] * 1e6
					}
					last = max(last, sent+Time(by))
					p.Handle(Event{At: last, Kind: Tick24})
				}
				sent += Time(periodOf(BPM(bpm)))
				bpm += ramp / bpm / 24
				n++
			}
		}
		growing = true
		send(24*20+r.IntN(24*8), true)
		ramp, growing = 0, false
		send(24*(1+r.IntN(4)), false)
		send(24*16, true)
		off := math.Abs(float64(p.At(sent).Beat)/float64(Tick) - float64(n))
		worst = max(worst, off)
		if off > 0.6 {
			wrong++
		}
	}
	t.Logf("a tick or more off after %d of %d silences, by at most %.1f ticks", wrong, silences, worst)
	assert.LessOrEqual(t, wrong, silences/10, "silences after which the count was a tick or more off, of %d", silences)
}
