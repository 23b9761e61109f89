package clock

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
)

// What a clock is said to come in like is what it does come in like.
func TestArrivals(t *testing.T) {
	at120 := at(120, 1200)
	for _, c := range []struct {
		name   string
		stages []func(*rand.Rand) stage
		feed   Feed
		every  Time // to within a hundredth
		most   Time // Spread
	}{
		{"on time", nil, Even, 0, Millisecond},
		{"USB", through(usb()), Even, 0, 2 * Millisecond},
		{"late by 5 ms and less", through(late(halfNormal(5 * Millisecond))), Uneven, 0, 14 * Millisecond},
		{"buffers of 1,024 at 48 kHz", through(buffer(48000, 1024)), InSteps, 21333 * Microsecond, 22 * Millisecond},
		{"radio", through(slot(15 * Millisecond)), InSteps, 15 * Millisecond, 16 * Millisecond},
		{"held up each second", through(congestion(Second, 100*Millisecond, 200*Millisecond)), InBursts, 0, 200 * Millisecond},
	} {
		t.Run(c.name, func(t *testing.T) {
			m := arrivalModel{law: at120, stages: c.stages}
			tr := NewTransport(Config{})
			assert.Equal(t, Arrivals{}, tr.Arrivals())
			for i, e := range m.trace(1).events {
				tr.Handle(e)
				if i == 5 {
					assert.Equal(t, Learning, tr.Arrivals().Feed)
				}
			}
			a := tr.Arrivals()
			assert.Equal(t, c.feed, a.Feed, "%+v", a)
			assert.InDelta(t, float64(c.every), float64(a.Every), float64(c.every)/100)
			assert.LessOrEqual(t, a.Spread, c.most)
			assert.LessOrEqual(t, a.Late, a.Spread)
			assert.InDelta(t, float64(c.every)/2, float64(a.Unknown), float64(c.every)/100)
			assert.Zero(t, a.Lost+a.Extra)
		})
	}
}

// Ticks that were lost or came twice are told of.
func TestArrivalsTellOfLostTicks(t *testing.T) {
	for _, c := range []struct{ lost, twice float64 }{{0.01, 0}, {0, 0.01}} {
		m := arrivalModel{law: at(120, 1500), stages: through(late(halfNormal(300 * Microsecond))), lost: c.lost, twice: c.twice, from: 96}
		trace := m.trace(3)
		lost, twice := 0, 0
		for i := range trace.sent {
			if trace.gone[i] {
				lost++
			} else if trace.twice[i] {
				twice++
			}
		}
		tr := NewTransport(Config{})
		for _, e := range trace.events {
			tr.Handle(e)
		}
		a := tr.Arrivals()
		assert.Equal(t, lost-twice, int(a.Lost)-int(a.Extra), "%+v", a)
		assert.Positive(t, lost+twice)
	}
}
