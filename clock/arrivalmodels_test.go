package clock

import (
	"math"
	"math/rand/v2"
	"slices"
)

// The library of arrival models: how the ticks of a MIDI clock may come in. A
// model is what the sender means (a tempo law), and a chain of stages that each
// message passes. Parameters are written out in arrivalModels. All are common
// practice, no source, but for what a line names.

// A stage says when a message that reaches it at t leaves it, ns.
type stage func(r *rand.Rand, t float64) float64

// buffer hands messages out when the audio buffer that they fall in begins, as a
// sender does that runs its MIDI in the audio callback: early, by up to a buffer.
func buffer(rate, samples float64) func(*rand.Rand) stage {
	return grid(samples/rate*1e9, math.Floor)
}

// slot lets messages leave at whole multiples of a time: a radio's interval, a
// driver that polls, a timer.
func slot(every Time) func(*rand.Rand) stage { return grid(float64(every), math.Ceil) }

func grid(every float64, round func(float64) float64) func(*rand.Rand) stage {
	return func(r *rand.Rand) stage {
		phase := r.Float64() * every
		return func(_ *rand.Rand, t float64) float64 { return round((t-phase)/every)*every + phase }
	}
}

// late delays each message by itself.
func late(d delay) func(*rand.Rand) stage {
	return func(*rand.Rand) stage { return func(r *rand.Rand, t float64) float64 { return t + d(r) } }
}

// both is noise to both sides, around 4 σ.
func both(sigma Time) delay {
	return func(r *rand.Rand) float64 { return max(0, (4+r.NormFloat64())*float64(sigma)) }
}

// pareto has a tail that falls with the power 1.5.
func pareto(least Time) delay {
	return func(r *rand.Rand) float64 {
		return min(float64(least)*(math.Pow(1-r.Float64(), -1/1.5)-1), 400e6)
	}
}

// congestion holds everything up for some time, once in each period, and then
// lets it go at once.
func congestion(period, least, most Time) func(*rand.Rand) stage {
	return func(r *rand.Rand) stage {
		from, seed := r.Float64()*float64(period), r.Uint64()
		return func(_ *rand.Rand, t float64) float64 {
			k := math.Floor((t - from) / float64(period))
			long := float64(least) + rand.New(rand.NewPCG(seed, uint64(int64(k)))).Float64()*float64(most-least)
			if start := from + k*float64(period); t < start+long {
				return start + long
			}
			return t
		}
	}
}

// slips delays everything from some moments on by another step each.
func slips(by Time, at ...Time) func(*rand.Rand) stage {
	return func(*rand.Rand) stage {
		return func(_ *rand.Rand, t float64) float64 {
			for _, s := range at {
				if t > float64(s) {
					t += float64(by)
				}
			}
			return t
		}
	}
}

// louder has little noise before a moment and much after it.
func louder(before, after delay, at Time) func(*rand.Rand) stage {
	return func(*rand.Rand) stage {
		return func(r *rand.Rand, t float64) float64 {
			if t < float64(at) {
				return t + before(r)
			}
			return t + after(r)
		}
	}
}

// paired lets a share of the ticks wait for the one after.
func paired(share float64, next Time) delay {
	return func(r *rand.Rand) float64 {
		if r.Float64() < share {
			return float64(next)
		}
		return 0
	}
}

// A law says when tick after tick truly falls.
type law func(r *rand.Rand) []Time

func at(bpm float64, n int) law { return func(*rand.Rand) []Time { return steady(BPM(bpm), n) } }

// human sways by a share of the tempo, over so many bars, as people play.
func human(bpm, share, bars float64, n int) law {
	return func(r *rand.Rand) []Time {
		a, b := r.Float64()*2*math.Pi, r.Float64()*2*math.Pi
		return mapped(n, func(i int) float64 {
			x := float64(i) / 96 / bars * 2 * math.Pi
			return bpm * (1 + share/2*(math.Sin(x+a)+0.6*math.Sin(x*1.9+b)))
		})
	}
}

// ramps goes from one tempo to another over some bars, a minute into the song.
func ramps(from, to, bars float64, n int) law {
	return func(*rand.Rand) []Time {
		return mapped(n, func(i int) float64 {
			x := min(max(float64(i-960)/96/bars, 0), 1)
			return from + (to-from)*x
		})
	}
}

// leaps steps by some BPM and back, every so many ticks.
func leaps(bpm, by float64, every, n int) law {
	return func(*rand.Rand) []Time {
		return mapped(n, func(i int) float64 { return bpm + by*float64(i/every%2) })
	}
}

// ritardando halves the tempo over four bars, at the end.
func ritardando(bpm float64, n int) law {
	return func(*rand.Rand) []Time {
		return mapped(n, func(i int) float64 {
			return bpm * (1 - 0.6*min(max(float64(i-n+384)/384, 0), 1))
		})
	}
}

// rounded has the sender count whole milliseconds a tick, and put itself right
// on each beat.
func rounded(bpm float64, n int, round func(float64) float64) func(*rand.Rand) stage {
	sent := steady(BPM(bpm), n)
	period := round(periodOf(BPM(bpm))/1e6) * 1e6
	return func(*rand.Rand) stage {
		return func(_ *rand.Rand, t float64) float64 {
			i, _ := slices.BinarySearch(sent, Time(t))
			beat := min(i, n-1) / 24 * 24
			return float64(sent[beat]) + float64(i-beat)*period
		}
	}
}

// An arrivalModel is a row of the table.
type arrivalModel struct {
	name        string
	steady      bool // a tempo that stands, through noise that stays as it is
	law         law
	stages      []func(*rand.Rand) stage
	overtake    bool    // messages may overtake each other; else they queue
	slips       bool    // a delay that all ticks get at once: nobody can tell it from the music being late
	blind       float64 // ms: what songs with the very same ticks leave unknown; 0: nothing. The row is held to it
	back        float64 // share of stamps that run back
	lost, twice float64
	from        int // first tick of that
}

// trace plays the model.
func (m *arrivalModel) trace(seed uint64) *trace {
	r := rand.New(rand.NewPCG(seed, 77))
	t := newTrace(m.law(r))
	if m.lost > 0 || m.twice > 0 {
		t.fault(m.from, m.lost, m.twice, seed)
	}
	var stages []stage
	for _, s := range m.stages {
		stages = append(stages, s(r))
	}
	var ticks []float64
	for i, sent := range t.sent {
		if t.gone[i] {
			continue
		}
		ticks = append(ticks, float64(sent))
		if t.twice[i] {
			ticks = append(ticks, float64(sent)+r.Float64()*300e3)
		}
	}
	for k, s := range stages {
		before := 0.0
		for i := range ticks {
			ticks[i] = s(r, ticks[i])
			if !m.overtake || k < len(stages)-1 {
				ticks[i] = max(ticks[i], before)
				before = ticks[i]
			}
		}
	}
	if m.overtake {
		slices.Sort(ticks)
	}
	t.events = slices.Clone(t.other)
	t.events[0].At = min(t.events[0].At, Time(ticks[0])-1)
	for _, x := range ticks {
		e := Event{At: Time(x), Kind: Tick24}
		if m.back > 0 && r.Float64() < m.back {
			e.At -= Millisecond + Time(r.Int64N(int64(19*Millisecond)))
		}
		t.events = append(t.events, e)
	}
	return t
}

func through(s ...func(*rand.Rand) stage) []func(*rand.Rand) stage { return s }

// usb stands for a full-speed port that is polled once a millisecond.
func usb() func(*rand.Rand) stage { return slot(Millisecond) }
