package clock

import "testing"

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
			if at > start && (step < 1-hardSlew-0.001 || step > 1+hardSlew+0.001) {
				t.Fatalf("off by %d: moves at %.3f of the tempo", miss, step)
			}
			before = now
		}
		// Half a beat is gone by the next beat.
		at := start + 500*Millisecond
		if off := g.at(at) - float64(rate*float64(at)) - float64(miss); off > 1 || off < -1 {
			t.Errorf("off by %d: %.0f left a beat later", miss, off)
		}
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
		if at := g.at(now); at < before {
			t.Fatalf("ran back by %.1f at correction %d", before-at, i)
		} else {
			before = at
		}
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
	if got := g.at(Second + tick - Microsecond); got != stood {
		t.Errorf("moved by %.1f while it waits", got-stood)
	}
	if got := g.at(Second + 2*tick); got-stood < float64(Tick)-100 || got-stood > float64(Tick)+100 {
		t.Errorf("moved by %.1f after the wait, want a tick", got-stood)
	}
}
