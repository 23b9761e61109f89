package clock

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestLongRunDoesNotDrift(t *testing.T) {
	NumbersOnly(t)
	// A day at 12 BPM is 414,720 ticks; each arrives late, and the beat is right
	// to a millisecond at the end of it.
	const day = 24 * 60 * 12 * 24
	tr := NewTransport(Config{})
	tr.Handle(Event{At: Second - Millisecond, Kind: Start})
	r := rand.New(rand.NewPCG(7, 7))
	var sent, got Time
	for i := range day + 1 {
		sent = Second + Time(float64(i)*periodOf(BPM(12)))
		got = max(got, sent+Time(bursty(r)))
		tr.Handle(Event{At: got, Kind: Tick24})
	}
	p := tr.At(sent + 50*Millisecond)
	miss := p.Beat - day*Tick - BPM(12).Beats(50*Millisecond)
	limit := BPM(12).Beats(Millisecond)
	assert.LessOrEqual(t, miss, limit, "after a day: off by %.6f quarters", miss.Quarters())
	assert.GreaterOrEqual(t, miss, -limit, "after a day: off by %.6f quarters", miss.Quarters())
	assert.Equal(t, Locked, p.Sync, "after a day: off by %.6f quarters", miss.Quarters())
}
