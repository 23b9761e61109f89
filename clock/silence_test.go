package clock

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
)

// A clock that falls silent right after a late tick is carried on at the tempo of
// the bar before, not at the one that the late tick suggests. It is taken up at the
// tick that the master is at, or at one beside it: a first tick that is late by more
// than half a tick cannot be told from the next. Ticks are late by a half-normal 4 ms
// at 147.7 BPM.
func TestSilenceAfterALateTick(t *testing.T) {
	for seed := range uint64(20) {
		r := rand.New(rand.NewPCG(seed, 41))
		tick := periodOf(BPM(147.7))
		p := NewTransport(Config{})
		p.Handle(Event{At: Second - Millisecond, Kind: Start})
		last, n := Time(0), 0
		send := func(count int, late func(i int) float64) {
			for i := range count {
				last = max(last, Second+Time(float64(n)*tick+late(i)))
				p.Handle(Event{At: last, Kind: Tick24})
				n++
			}
		}
		noise := func(int) float64 { x := r.NormFloat64() * 4e6; return max(x, -x) }
		send(24*16, noise)
		send(3, func(i int) float64 { return float64(8+2*i) * 1e6 })
		n += 72
		before := float64(p.At(Second+Time(float64(n)*tick)).Beat) / float64(Tick)
		assert.InDelta(t, n, before, 0.5, "seed %d: ticks, three beats into the silence", seed)
		send(24*8, noise)
		after := float64(p.At(Second+Time(float64(n)*tick)).Beat) / float64(Tick)
		assert.InDelta(t, n, after, 0.5, "seed %d: ticks, eight beats after it", seed)
	}
}

// Ticks that come in packets are taken to fall in the middle between two. A clock
// without packets that comes after them, as from another sender, is not held to
// that: within eight bars it is no longer early by half a packet.
func TestLatticeOfTheClockBeforeIsLeft(t *testing.T) {
	const packet = 200 * Millisecond
	p := NewTransport(Config{})
	tick := Time(periodOf(BPM(120)))
	p.Handle(Event{At: Second, Kind: Start})
	for n := range Time(24 * 120) {
		at := Second + n*tick
		p.Handle(Event{At: (at/packet + 1) * packet, Kind: Tick24})
	}
	assert.Equal(t, packet/2, p.Arrivals().Unknown, "half a packet is unknown")
	began := Second + 24*120*tick + 5*Second
	p.Handle(Event{At: began, Kind: Stop})
	p.Handle(Event{At: began, Kind: Start})
	for n := range Time(24 * 4 * 8) {
		p.Handle(Event{At: began + n*tick, Kind: Tick24})
	}
	at := began + (24*4*8-1)*tick
	off := BPM(120).Span(p.At(at).Beat - (24*4*8-1)*Tick)
	assert.InDelta(t, 0, int64(off), float64(5*Millisecond), "early by, eight bars later")
}

// Before a silence of up to four beats, late ticks can look like a tempo that falls. The
// clock is taken up at the tick that the master is at: the last bar's straight line is
// followed too, and the ticks that come decide. Ticks are late by the model of a poor
// link, the last before the silence ever more; the tempo climbs or falls by up to 6 BPM a
// minute until then. Some of these cannot be told from a tempo that falls by 5 %.
func TestSilenceOfATempoThatMoves(t *testing.T) {
	numbersOnly(t)
	const silences = 100
	more := []float64{3, 6, 5, 8, 8, 10, 9, 14} // ms
	wrong := 0
	for seed := range uint64(silences) {
		r := rand.New(rand.NewPCG(seed, 47))
		late := model(poor)
		p := NewTransport(Config{})
		bpm, ramp := 60+120*r.Float64(), 12*(r.Float64()-0.5)
		sent, last, n := Second, Time(0), 0
		p.Handle(Event{At: sent - Millisecond, Kind: Start})
		send := func(count int, heard bool) {
			for i := range count {
				if heard {
					by := late(r)
					if i >= count-len(more) && ramp != 0 {
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
		send(24*20+r.IntN(24*8), true)
		ramp = 0
		send(24*(1+r.IntN(4)), false)
		send(24*16, true)
		off := float64(p.At(sent).Beat)/float64(Tick) - float64(n)
		if off > 0.6 || off < -0.6 {
			wrong++
		}
	}
	t.Logf("a tick off after %d of %d silences", wrong, silences)
	assert.LessOrEqual(t, wrong, silences/10, "silences after which the count was a tick off, of %d", silences)
}
