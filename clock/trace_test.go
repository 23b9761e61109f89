package clock

import (
	"math"
	"math/rand/v2"
	"slices"
)

// The models behind TestTempoLock, BenchmarkTempoLock and testdata/midi. All
// are common practice, no source, except where a line names one.
//
//	half-normal σ   every message is late by |N(0, σ)|, never early: a sender's
//	                timer and a scheduler, σ 1 ms (wired) and 5 ms (poor)
//	tail            0.5 % of them are up to 20 ms later still, evenly spread
//	rounding        arrivals go up to the next whole millisecond, as drivers
//	                that poll once a millisecond stamp them
//	model(σ)        the three together; "the 5 ms model" is model(5 ms)
//	order           messages queue: none overtakes another
//	stalls          for a time nothing arrives, then the queue at once; 40 ms,
//	                every 2 s at random on average, stands for Wi-Fi
//	lost, doubled   each tick with the chance given; a double comes 0–300 µs
//	                after its original
//
// No constant minimum delay is added, so none has to be taken off: an error is
// all there is, bias included.

// model is the whole one-sided delay of one message, before rounding.
func model(sigma Time) delay {
	quick := halfNormal(sigma)
	return func(r *rand.Rand) float64 {
		d := quick(r)
		if r.Float64() < 0.005 {
			d += r.Float64() * 20e6
		}
		return d
	}
}

// A trace is what a master meant and what of it arrived.
type trace struct {
	sent   []Time    // when tick n truly fell
	pos    []float64 // song position at tick n, ticks; the position rises by one from tick to tick while it plays
	play   []bool    // from tick n to n+1 it plays
	gone   []bool    // tick n is lost
	twice  []bool    // tick n comes twice
	other  []Event   // Start, Stop, Continue, Locate, at their true times
	stalls [][2]Time // from, to
	events []Event   // as they arrive
}

// newTrace plays ticks from tick 0 on, at 0.
func newTrace(sent []Time) *trace {
	n := len(sent)
	t := &trace{sent: sent, pos: make([]float64, n), play: make([]bool, n), gone: make([]bool, n), twice: make([]bool, n)}
	for i := range sent {
		t.pos[i], t.play[i] = float64(i), true
	}
	t.other = []Event{{At: sent[0] - Millisecond, Kind: Start}}
	return t
}

// locate has the master, playing, say just before tick n that it is sixteenth s.
func (t *trace) locate(n, s int) {
	t.other = append(t.other, Event{At: t.sent[n] - Microsecond, Kind: Locate, Sixteenths: int32(s)})
	for i := n; i < len(t.pos); i++ {
		t.pos[i] = float64(6*s + i - n)
	}
}

// pause stops just after tick n and continues with tick n+length.
func (t *trace) pause(n, length int) {
	t.other = append(t.other,
		Event{At: t.sent[n] + Microsecond, Kind: Stop},
		Event{At: t.sent[n+length] - Microsecond, Kind: Continue})
	at := t.pos[n]
	for i := n; i < len(t.pos); i++ {
		if i < n+length {
			t.play[i], t.pos[i] = false, at
		} else {
			t.pos[i] = at + 1 + float64(i-n-length)
		}
	}
}

// arrive passes everything through the queue.
func (t *trace) arrive(d delay, seed uint64) *trace {
	r := rand.New(rand.NewPCG(seed, 3))
	t.events = slices.Clone(t.other)
	for i, at := range t.sent {
		if !t.gone[i] {
			t.events = append(t.events, Event{At: at, Kind: Tick24})
		}
		if t.twice[i] {
			t.events = append(t.events, Event{At: at + Time(r.Int64N(300_000)), Kind: Tick24})
		}
	}
	slices.SortStableFunc(t.events, func(a, b Event) int { return int(a.At - b.At) })
	var last Time
	for i := range t.events {
		e := &t.events[i]
		at := e.At + Time(d(r))
		for _, s := range t.stalls {
			if at >= s[0] && at < s[1] {
				at = s[1]
			}
		}
		at = (at + Millisecond - 1) / Millisecond * Millisecond
		last = max(last, at)
		e.At = last
	}
	return t
}

// fault loses and doubles ticks at random from tick from on.
func (t *trace) fault(from int, lost, doubled float64, seed uint64) *trace {
	r := rand.New(rand.NewPCG(seed, 4))
	for i := from; i < len(t.sent)-24; i++ {
		if x := r.Float64(); x < lost {
			t.gone[i] = true
		} else if x < lost+doubled {
			t.twice[i] = true
		}
	}
	return t
}

// stall adds stalls of shortest to longest from tick from on, one in every
// apart on average.
func (t *trace) stall(from int, shortest, longest, apart Time, seed uint64) *trace {
	r := rand.New(rand.NewPCG(seed, 5))
	end := t.sent[len(t.sent)-1]
	for at := t.sent[from]; ; {
		at += apart/2 + Time(r.Int64N(int64(apart)))
		if at >= end-Second {
			return t
		}
		long := shortest + Time(r.Int64N(int64(longest-shortest)+1))
		t.stalls = append(t.stalls, [2]Time{at, at + long})
		at += long
	}
}

// unheard tells whether a message before at may still be on its way: nobody can
// know of it yet.
func (t *trace) unheard(at Time) bool {
	for _, e := range t.other {
		if at >= e.At && at < e.At+50*Millisecond {
			return true
		}
	}
	return false
}

// A sample is one look at the beat.
type sample struct {
	at    Time
	off   float64 // shown less true time of the beat, ns: positive is ahead
	tempo float64 // shown over true tempo
	sync  Sync
}

// look is how often the beat is looked at: a rate that has nothing in common
// with the ticks.
const look = Second / 97

// follow plays the trace to f, tick by tick, and looks at it while it plays.
// What is asked of show is how many ticks since the first, and the tempo.
func (t *trace) follow(from int, handle func(Event), show func(at Time, i int) (off float64, tempo float64, s Sync)) []sample {
	var out []sample
	next, i := 0, 0
	for at := t.sent[0]; ; at += look {
		for ; next < len(t.events) && t.events[next].At <= at; next++ {
			handle(t.events[next])
		}
		for i+1 < len(t.sent) && t.sent[i+1] <= at {
			i++
		}
		if i+1 >= len(t.sent) {
			return out
		}
		if i < from || !t.play[i] || t.unheard(at) {
			continue
		}
		period := float64(t.sent[i+1] - t.sent[i])
		shown, tempo, s := show(at, i)
		truth := t.pos[i] + float64(at-t.sent[i])/period
		out = append(out, sample{at, (shown - truth) * period, tempo * period, s})
	}
}

// ours follows the trace with a Transport.
func (t *trace) ours(from int) []sample {
	tr := NewTransport(Config{})
	return t.follow(from, tr.Handle, func(at Time, _ int) (float64, float64, Sync) {
		p := tr.At(at)
		return float64(p.Beat) / float64(Tick), 1 / periodOf(p.Tempo), p.Sync
	})
}

// rival follows the ticks of the trace with a rival. Rivals know no messages
// but ticks: jumps and stops are done for them, without a flaw.
func (t *trace) rival(from int, r rival) []sample {
	tick := func(e Event) {
		if e.Kind == Tick24 {
			r.tick(float64(e.At) / 1e9)
		}
	}
	return t.follow(from, tick, func(at Time, i int) (float64, float64, Sync) {
		return r.number(float64(at)/1e9) - float64(i) + t.pos[i], 0, Free
	})
}

// rivals returns fresh ones, made for the trace's first tempo. The plain one
// has the sense to wait for a tick that does not come.
func (t *trace) rivals() (plain, loop rival) {
	return &waiting{}, &dll{bandwidth: 0.5, tau: float64(t.sent[1]-t.sent[0]) / 1e9}
}

// waiting is lastTick that never runs past the tick to come.
type waiting struct{ lastTick }

func (w *waiting) number(at float64) float64 {
	if w.n < 2 {
		return max(w.n-1, 0)
	}
	return min(w.lastTick.number(at), w.n)
}

// offs returns the errors of samples, ns.
func offs(s []sample) []float64 {
	out := make([]float64, len(s))
	for i := range s {
		out[i] = s[i].off
	}
	return out
}

// mapped returns the true times of n ticks whose tempo, in BPM, is a function of
// the tick.
func mapped(n int, bpm func(i int) float64) []Time {
	sent := make([]Time, n)
	at := 1e9
	for i := range sent {
		sent[i] = Time(math.Round(at))
		at += 60e9 / 24 / bpm(i)
	}
	return sent
}

// ramp rises or falls by slope BPM a minute from tick from on.
func ramp(n, from int, bpm, slope float64) []Time {
	now := bpm
	return mapped(n, func(i int) float64 {
		if i >= from {
			now += slope / 24 / now // a tick lasts 1/(24·now) minutes
		}
		return now
	})
}
