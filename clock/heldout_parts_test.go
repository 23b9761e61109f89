package clock

import (
	"math"
	"math/rand/v2"
	"slices"
)

// A heldTrace is what a sender meant, and what of it arrived.
type heldTrace struct {
	sent   []Time  // when each tick truly fell
	events []Event // as they arrive: a Start, then ticks

	at    []Time // stamps so far of the messages on their way, in the order sent
	which []int  // the tick that each message stands for
	marks []int  // ticks at which one is lost or doubled, the tempo steps, or the clock slips
	lost  int
	twice int
	// unsure: it slips so far that nobody can tell it from lost ticks
	unsure bool
	spread Time // from the shortest delay of a message to the longest
	early  Time // the shortest delay
	usual  Time // the delay that nine of ten messages keep to
}

// heldSend has every tick set out on its way once.
func heldSend(sent []Time, marks ...int) *heldTrace {
	h := &heldTrace{sent: sent, at: slices.Clone(sent), which: make([]int, len(sent)), marks: marks}
	for i := range h.which {
		h.which[i] = i
	}
	return h
}

// fault loses and doubles ticks at random from tick from on. The first tick is
// never lost: nobody could know. The last two bars are whole.
func (h *heldTrace) fault(r *rand.Rand, from int, lost, doubled float64) *heldTrace {
	var at []Time
	var which []int
	for i, sent := range h.sent {
		x := r.Float64()
		if i < from || i >= len(h.sent)-216 || i == 0 && x < lost {
			x = 1
		}
		if x >= lost {
			at, which = append(at, sent), append(which, i)
		} else {
			h.lost++
			h.marks = append(h.marks, i)
		}
		if x >= lost && x < lost+doubled {
			at, which = append(at, sent+Time(r.Int64N(300_000))), append(which, i)
			h.twice++
			h.marks = append(h.marks, i)
		}
	}
	h.at, h.which = at, which
	return h
}

// A heldStage is one thing that messages pass on their way: it changes their
// stamps, which are in the order sent.
type heldStage func(r *rand.Rand, at []Time)

// through passes all messages through the stages, and delivers them.
func (h *heldTrace) through(r *rand.Rand, stages ...heldStage) *heldTrace {
	for _, s := range stages {
		s(r, h.at)
	}
	return h.deliver(true)
}

// deliver makes the events: in the order of their stamps, or else in the order
// sent, whatever their stamps.
func (h *heldTrace) deliver(sorted bool) *heldTrace {
	delays := make([]Time, len(h.at))
	h.events = make([]Event, 1, len(h.at)+1)
	for i, at := range h.at {
		delays[i] = at - h.sent[h.which[i]]
		h.events = append(h.events, Event{At: at, Kind: Tick24})
	}
	slices.Sort(delays)
	h.early, h.usual = delays[0], delays[len(delays)*9/10]
	h.spread = delays[len(delays)-1] - delays[0]
	if sorted {
		slices.SortStableFunc(h.events[1:], func(a, b Event) int { return int(a.At - b.At) })
	}
	h.events[0] = Event{At: h.events[1].At - Millisecond, Kind: Start}
	return h
}

// heldQueue lets no message overtake another.
func heldQueue(_ *rand.Rand, at []Time) {
	for i := 1; i < len(at); i++ {
		at[i] = max(at[i], at[i-1])
	}
}

// heldFree delays each message by itself: they may overtake.
func heldFree(d delay) heldStage {
	return func(r *rand.Rand, at []Time) {
		for i := range at {
			at[i] += Time(d(r))
		}
	}
}

// heldNoise is heldFree in a queue.
func heldNoise(d delay) heldStage {
	return func(r *rand.Rand, at []Time) {
		heldFree(d)(r, at)
		heldQueue(r, at)
	}
}

// heldChanging is heldNoise whose kind changes every span of ticks.
func heldChanging(span int, kinds ...delay) heldStage {
	return func(r *rand.Rand, at []Time) {
		for i := range at {
			at[i] += Time(kinds[i/span%len(kinds)](r))
		}
		heldQueue(r, at)
	}
}

// Ways to round.
const (
	heldDown = iota
	heldUp
	heldNear
)

// heldGrid rounds to multiples of a period, ns, that lie anywhere.
func heldGrid(period float64, way int) heldStage {
	return func(r *rand.Rand, at []Time) {
		phase := r.Float64() * period
		for i := range at {
			x := (float64(at[i]) - phase) / period
			switch way {
			case heldDown:
				x = math.Floor(x)
			case heldUp:
				x = math.Ceil(x)
			default:
				x = math.Round(x)
			}
			at[i] = Time(x*period + phase)
		}
	}
}

// heldFloor stamps ticks with the beginning of their audio buffer: samples, kHz.
func heldFloor(samples, rate float64) heldStage { return heldGrid(samples/rate*1e6, heldDown) }

// heldCeil sends ticks when their audio buffer is done: samples, kHz.
func heldCeil(samples, rate float64) heldStage { return heldGrid(samples/rate*1e6, heldUp) }

// heldTimer rounds to a computer's timer, ms.
func heldTimer(ms float64, way int) heldStage { return heldGrid(ms*1e6, way) }

// heldPoll is read by another device every so many ms, whose clock runs up to
// 50 millionths off.
func heldPoll(ms float64) heldStage {
	return func(r *rand.Rand, at []Time) {
		heldGrid(ms*1e6*(1+(r.Float64()-0.5)*1e-4), heldUp)(r, at)
	}
}

// heldRounded sends at whole steps: every so many ticks begin where they should,
// the ticks between follow at the rounded interval.
func heldRounded(step Time, every int) heldStage {
	return func(_ *rand.Rand, at []Time) {
		sent := slices.Clone(at)
		for i := range at {
			base := i / every * every
			end := min(base+every, len(at)-1)
			if end == base {
				continue
			}
			interval := (sent[end] - sent[base]) / Time(end-base)
			interval = (interval + step/2) / step * step
			at[i] = sent[base]/step*step + Time(i-base)*interval
		}
		heldQueue(nil, at)
	}
}

// heldSticky is noise whose next value is the last one times keep, and something
// new: Gaussian, of the given sigma in all.
func heldSticky(sigma Time, keep float64) heldStage {
	return func(r *rand.Rand, at []Time) {
		x := r.NormFloat64()
		for i := range at {
			at[i] += Time(x * float64(sigma))
			x = keep*x + math.Sqrt(1-keep*keep)*r.NormFloat64()
		}
		heldQueue(r, at)
	}
}

// heldWander makes the delay swing slowly by up to amp each way.
func heldWander(amp, period Time) heldStage {
	return func(r *rand.Rand, at []Time) {
		swing := heldSwing(r, float64(period))
		for i := range at {
			at[i] += Time(float64(amp) * swing(float64(at[i])))
		}
		heldQueue(r, at)
	}
}

// heldSwing is a smooth curve within -1..1, three waves of about the period.
func heldSwing(r *rand.Rand, period float64) func(x float64) float64 {
	var phase [3]float64
	for i := range phase {
		phase[i] = r.Float64()
	}
	return func(x float64) (y float64) {
		for i, long := range []float64{1, 0.61, 1.73} {
			y += math.Sin(2*math.Pi*(x/period/long+phase[i])) / 3
		}
		return y
	}
}

// heldStall holds everything back for lo to hi, then lets it go at once; again
// every apart, to the moment or on average. It begins two beats into the trace
// and ends four beats before its end.
func heldStall(lo, hi, apart Time, regular bool) heldStage {
	return func(r *rand.Rand, at []Time) {
		begin, end := at[48], at[len(at)-97]
		i := 0
		for {
			if regular {
				begin += apart
			} else {
				begin += apart/2 + Time(r.Int64N(int64(apart)))
			}
			over := begin + lo + Time(r.Int64N(int64(hi-lo)+1))
			if over >= end {
				break
			}
			for ; i < len(at) && at[i] < over; i++ {
				if at[i] >= begin {
					at[i] = over
				}
			}
			if !regular {
				begin = over
			}
		}
		heldQueue(r, at)
	}
}

// heldBatch keeps messages until there are so many, and hands them on together.
func heldBatch(size int) heldStage {
	return func(_ *rand.Rand, at []Time) {
		for i := range at {
			at[i] = at[min(i/size*size+size-1, len(at)-1)]
		}
	}
}

// heldWire sends one message after the other; each takes a span of time.
func heldWire(long Time) heldStage {
	return func(_ *rand.Rand, at []Time) {
		for i := range at {
			at[i] += long
			if i > 0 {
				at[i] = max(at[i], at[i-1]+long)
			}
		}
	}
}

// heldSome does a stage to spells of so many ticks, chosen at random: share of
// the spells. The last four beats go free.
func heldSome(spell int, share float64, s heldStage) heldStage {
	return func(r *rand.Rand, at []Time) {
		done := slices.Clone(at)
		s(r, done)
		for i := 0; i+spell <= len(at)-96; i += spell {
			if r.Float64() < share {
				copy(at[i:i+spell], done[i:])
			}
		}
		heldQueue(r, at)
	}
}
