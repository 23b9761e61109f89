package clock_test

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"

	"tactus/clock"
)

// A clock that falls silent right after a late tick is carried on at the tempo of
// the bar before, not at the one that the late tick suggests. It is taken up at the
// tick that the master is at, or at one beside it: a first tick that is late by more
// than half a tick cannot be told from the next. Ticks are late by a half-normal 4 ms
// at 147.7 BPM.
func TestSilenceAfterALateTick(t *testing.T) {
	for seed := range uint64(20) {
		r := rand.New(rand.NewPCG(seed, 41))
		tick := tickLength(clock.BPM(147.7))
		p := clock.NewTransport(clock.Config{})
		p.Handle(clock.Event{At: clock.Second - clock.Millisecond, Kind: clock.Start})
		last, n := clock.Time(0), 0
		send := func(count int, late func(i int) float64) {
			for i := range count {
				last = max(last, clock.Second+clock.Time(float64(n)*tick+late(i)))
				p.Handle(clock.Event{At: last, Kind: clock.Tick24})
				n++
			}
		}
		noise := func(int) float64 { x := r.NormFloat64() * 4e6; return max(x, -x) }
		send(24*16, noise)
		send(3, func(i int) float64 { return float64(8+2*i) * 1e6 })
		n += 72
		before := float64(p.At(clock.Second+clock.Time(float64(n)*tick)).Beat) / float64(clock.Tick)
		assert.InDelta(t, n, before, 0.5, "seed %d: ticks, three beats into the silence", seed)
		send(24*8, noise)
		after := float64(p.At(clock.Second+clock.Time(float64(n)*tick)).Beat) / float64(clock.Tick)
		assert.InDelta(t, n, after, 0.5, "seed %d: ticks, eight beats after it", seed)
	}
}

// Ticks that come in packets are taken to fall in the middle between two. A clock
// without packets that comes after them, as from another sender, is not held to
// that: within eight bars it is no longer early by half a packet.
func TestLatticeOfTheClockBeforeIsLeft(t *testing.T) {
	const packet = 200 * clock.Millisecond
	p := clock.NewTransport(clock.Config{})
	tick := clock.Time(tickLength(clock.BPM(120)))
	p.Handle(clock.Event{At: clock.Second, Kind: clock.Start})
	for n := range clock.Time(24 * 120) {
		at := clock.Second + n*tick
		p.Handle(clock.Event{At: (at/packet + 1) * packet, Kind: clock.Tick24})
	}
	assert.Equal(t, packet/2, p.Arrivals().Unknown, "half a packet is unknown")
	began := clock.Second + 24*120*tick + 5*clock.Second
	p.Handle(clock.Event{At: began, Kind: clock.Stop})
	p.Handle(clock.Event{At: began, Kind: clock.Start})
	for n := range clock.Time(24 * 4 * 8) {
		p.Handle(clock.Event{At: began + n*tick, Kind: clock.Tick24})
	}
	at := began + (24*4*8-1)*tick
	off := clock.BPM(120).Span(p.At(at).Beat - (24*4*8-1)*clock.Tick)
	assert.InDelta(t, 0, int64(off), float64(5*clock.Millisecond), "early by, eight bars later")
}
