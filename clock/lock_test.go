package clock

import (
	"math"
	"testing"
)

// drive feeds a lock and returns it.
func drive(got []Time) *lock {
	l := &lock{}
	l.restart(0, periodOf(BPM(100)))
	for _, at := range got {
		l.tick(at)
	}
	return l
}

func TestLockTempoSettles(t *testing.T) {
	for _, bpm := range []float64{40, 87.5, 120, 174, 300} {
		for seed := range uint64(50) {
			got := arrivals(steady(BPM(bpm), 97), halfNormal(Millisecond), seed)
			after := func(ticks int) float64 {
				return math.Abs(drive(got[:ticks+1]).line.tempo().BPM()/bpm - 1)
			}
			// At 1 ms of jitter a beat is long enough for 1 %, four for 0.1 %.
			if e := after(24); e > 0.01 {
				t.Errorf("%v BPM, seed %d: off by %.3f %% after a beat", bpm, seed, 100*e)
			}
			if e := after(96); e > 0.001 {
				t.Errorf("%v BPM, seed %d: off by %.3f %% after four beats", bpm, seed, 100*e)
			}
		}
	}
}

// step sends before ticks at one tempo and after at another.
func step(from, to Tempo, before, after int) []Time {
	sent := steady(from, before)
	last := sent[before-1]
	for i := 1; i <= after; i++ {
		sent = append(sent, last+Time(float64(i)*periodOf(to)))
	}
	return sent
}

func TestLockFollowsTempoStep(t *testing.T) {
	for _, c := range []struct {
		from, to float64
		jitter   Time
		beats    float64 // until the tempo is right to 1 %
	}{
		{120, 126, 0, 0.5},
		{126, 120, 0, 0.5},
		{120, 126, Millisecond, 1},
		{126, 120, Millisecond, 1},
		{120, 180, Millisecond, 1},
		{180, 120, Millisecond, 1},
		{60, 120, Millisecond, 1},
		{120, 60, Millisecond, 1},
		{120, 126, 5 * Millisecond, 3},
		{126, 120, 5 * Millisecond, 3},
		{40, 160, Millisecond, 1},
		{160, 40, Millisecond, 1},
		{120, 121, Millisecond, 2},
		{121, 120, Millisecond, 2},
	} {
		for seed := range uint64(20) {
			after := int(c.beats * 24)
			got := arrivals(step(BPM(c.from), BPM(c.to), 300, after), halfNormal(c.jitter), seed)
			l := drive(got)
			if e := math.Abs(l.line.tempo().BPM()/c.to - 1); e > 0.01 {
				t.Errorf("%v to %v BPM at %v jitter, seed %d: off by %.2f %% after %v beats (rests on %d ticks)",
					c.from, c.to, c.jitter.Sub(0), seed, 100*e, c.beats, l.line.points)
			}
			if want := int64(len(got) - 1); l.n != want {
				t.Errorf("%v to %v BPM at %v jitter, seed %d: counted %d ticks, want %d",
					c.from, c.to, c.jitter.Sub(0), seed, l.n, want)
			}
		}
	}
}

func TestLockKeepsTempoThroughStall(t *testing.T) {
	for _, stall := range []Time{40 * Millisecond, 80 * Millisecond, 150 * Millisecond} {
		for start := range 40 {
			l := drive(arrivals(steady(BPM(120), 200), halfNormal(Millisecond/2), uint64(start)))
			begin := Second + Time(200*periodOf(BPM(120))) - Millisecond + Time(start)*Millisecond
			for i := 200; i < 300; i++ {
				at := Second + Time(float64(i)*periodOf(BPM(120)))
				if at >= begin && at < begin+stall {
					at = begin + stall + Time(i) // the queue empties at once
				}
				l.tick(at)
				if e := math.Abs(l.line.tempo().BPM()/120 - 1); e > 0.002 {
					t.Fatalf("stall of %v: tempo %v at tick %d", stall.Sub(0), l.line.tempo(), i)
				}
			}
			if l.n != 299 {
				t.Errorf("stall of %v: counted to %d, want 299", stall.Sub(0), l.n)
			}
		}
	}
}

func TestLockMendsCount(t *testing.T) {
	for _, jitter := range []Time{0, Millisecond, 3 * Millisecond} {
		for seed := range uint64(30) {
			sent := steady(BPM(128), 400)
			got := arrivals(sent, halfNormal(jitter), seed)
			var faulty []Time
			for i, at := range got {
				switch i {
				case 110, 150, 151, 152: // lost
				case 200, 230: // come twice
					faulty = append(faulty, at, at+300*Microsecond)
				default:
					faulty = append(faulty, at)
				}
				if i == 149 || i == 190 || i == 229 || i == 270 || i == 399 {
					if l := drive(faulty); l.n != int64(i) {
						t.Errorf("jitter %v, seed %d: counted to %d at tick %d",
							jitter.Sub(0), seed, l.n, i)
					}
				}
			}
		}
	}
}

func TestLockIgnoresExtraTickOffTheGrid(t *testing.T) {
	// An extra tick half-way cannot be told at once from a new tempo; the count
	// is right again within a beat.
	l := drive(steady(BPM(120), 100))
	p := periodOf(BPM(120))
	l.tick(Second + Time(99.4*p))
	for i := 100; i < 124; i++ {
		l.tick(Second + Time(float64(i)*p))
	}
	if l.n != 123 {
		t.Errorf("counted to %d, want 123", l.n)
	}
}

func TestLockLineLiesUnderItsTicks(t *testing.T) {
	for seed := range uint64(30) {
		l := drive(arrivals(steady(BPM(120), 150), bursty, seed))
		for i := range l.line.points {
			p := l.back(i)
			if late := l.line.late(p.n, p.at) * l.line.period; late < -2 {
				t.Fatalf("seed %d: tick %d lies %.1f ns under the line", seed, p.n, -late)
			}
		}
	}
}

func TestLockFollowsRamp(t *testing.T) {
	// A ritardando from 120 to 90 BPM over 16 beats: the beat shown stays
	// within 15 ms, the tempo within 3 %.
	const n = 16 * 24
	sent := steady(BPM(120), 200)
	at := float64(sent[199])
	for i := range n {
		at += periodOf(BPM(120 - 30*float64(i)/n))
		sent = append(sent, Time(at))
	}
	errors := followErrors(sent, arrivals(sent, halfNormal(Millisecond), 1), 200)
	if worst := percentile(errors, 1); worst > 15 {
		t.Errorf("beat off by up to %.1f ms", worst)
	}
	if got := drive(sent).line.tempo().BPM(); math.Abs(got/90-1) > 0.03 {
		t.Errorf("tempo %.2f at the end, want 90", got)
	}
}
