package clock

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestGlideMeetsItsTarget(t *testing.T) {
	rate := rateOf(BPM(120))
	for _, miss := range []Beat{0, 1, Tick / 10, -Tick / 10, Tick, -Tick, Quarter / 2, -Quarter / 2} {
		var g glide
		g.jump(0, 0, rate)
		start := Second
		g.steer(start, g.at(start)+float64(miss), rate)
		before := g.at(start - 1)
		for at := start; at < start+2*Second; at += Millisecond {
			now := g.at(at)
			step := (now - before) / (rate * float64(Millisecond))
			if at > start {
				require.GreaterOrEqual(t, step, 1-hardSlew-0.001, "off by %d", miss)
				require.LessOrEqual(t, step, 1+hardSlew+0.001, "off by %d", miss)
			}
			before = now
		}
		// Half a beat is gone by the next beat.
		at := start + 500*Millisecond
		off := g.at(at) - float64(rate*float64(at)) - float64(miss)
		assert.InDelta(t, 0, off, 1, "off by %d: left a beat later", miss)
	}
}

func TestGlideSurvivesAFlood(t *testing.T) {
	// More corrections within maxAhead than there are legs: what shows now
	// stays as it was.
	rate := rateOf(BPM(120))
	var g glide
	g.jump(0, 0, rate)
	before := g.at(Second)
	for i := range Time(10 * maxLegs) {
		now := Second + i*100*Microsecond
		at := g.at(now)
		require.GreaterOrEqual(t, at, before, "ran back at correction %d", i)
		before = at
		g.steer(now+maxAhead, rate*float64(now+maxAhead)+float64((i%7)*Time(Tick)/20), rate)
	}
}

func TestGlideWaits(t *testing.T) {
	rate := rateOf(BPM(120))
	var g glide
	g.jump(0, 0, rate)
	g.wait(Second, g.at(Second)-float64(Tick), rate)
	stood := g.at(Second)
	tick := BPM(120).Span(Tick)
	assert.Equal(t, stood, g.at(Second+tick-Microsecond), "move while it waits")
	got := g.at(Second + 2*tick)
	assert.GreaterOrEqual(t, got-stood, float64(Tick)-100)
	assert.LessOrEqual(t, got-stood, float64(Tick)+100)
}
