package clock

import (
	"math"
	"math/rand/v2"
)

// Delays of one message, ns. Those of jitter_test.go are used as well.

func heldUniform(width Time) delay {
	return func(r *rand.Rand) float64 { return r.Float64() * float64(width) }
}

func heldGauss(sigma Time) delay {
	return func(r *rand.Rand) float64 { return r.NormFloat64() * float64(sigma) }
}

// heldGamma is the sum of a few exponential waits.
func heldGamma(shape int, each Time) delay {
	return func(r *rand.Rand) (d float64) {
		for range shape {
			d += r.ExpFloat64() * float64(each)
		}
		return d
	}
}

// heldLaplace is exponential both ways.
func heldLaplace(scale Time) delay {
	return func(r *rand.Rand) float64 { return (r.ExpFloat64() - r.ExpFloat64()) * float64(scale) }
}

// heldEither takes the second delay for a share of the messages.
func heldEither(first, second delay, share float64) delay {
	return func(r *rand.Rand) float64 {
		if r.Float64() < share {
			return second(r)
		}
		return first(r)
	}
}

// heldAfter adds a constant.
func heldAfter(late Time, d delay) delay {
	return func(r *rand.Rand) float64 { return float64(late) + d(r) }
}

func heldLogNormal(median Time, s float64) delay {
	return func(r *rand.Rand) float64 { return float64(median) * math.Exp(s*r.NormFloat64()) }
}

// heldPareto is at least the given span; the smaller alpha, the heavier its tail.
// No delay is longer than half a second.
func heldPareto(least Time, alpha float64) delay {
	return func(r *rand.Rand) float64 {
		return min(float64(least)*math.Pow(1-r.Float64(), -1/alpha), 0.5e9)
	}
}

// A heldMake makes one trace.
type heldMake func(r *rand.Rand) *heldTrace

// heldLong is how many ticks a trace at some tempo has: 75 s.
func heldLong(bpm float64) int { return int(bpm * 30) }

// heldConstant plays at one tempo.
func heldConstant(bpm float64, stages ...heldStage) heldMake {
	return func(r *rand.Rand) *heldTrace {
		return heldSend(steady(BPM(bpm), heldLong(bpm))).through(r, stages...)
	}
}

// heldFaults plays at one tempo; ticks are lost and doubled from a tick on.
func heldFaults(bpm float64, from int, lost, doubled float64, stages ...heldStage) heldMake {
	return func(r *rand.Rand) *heldTrace {
		return heldSend(steady(BPM(bpm), heldLong(bpm))).fault(r, from, lost, doubled).through(r, stages...)
	}
}

// heldBack plays at one tempo; a share of the stamps lies up to long before the
// stamp of the message before.
func heldBack(bpm, share float64, long Time, stages ...heldStage) heldMake {
	return func(r *rand.Rand) *heldTrace {
		h := heldConstant(bpm, stages...)(r)
		for i := 1; i < len(h.at); i++ {
			if r.Float64() < share {
				h.at[i] = h.at[i-1] - Time(r.Int64N(int64(long)))
			}
		}
		return h.deliver(false)
	}
}

// heldHuman plays a tempo that swings smoothly by a part of it each way, over
// about so many bars.
func heldHuman(bpm, part, bars float64, stages ...heldStage) heldMake {
	return func(r *rand.Rand) *heldTrace {
		swing := heldSwing(r, 96*bars)
		sent := mapped(heldLong(bpm), func(i int) float64 { return bpm * (1 + part*swing(float64(i))) })
		return heldSend(sent).through(r, stages...)
	}
}

// heldWalk plays a tempo that takes a random step with every beat, and is drawn
// back within about so many bars; part is how far off it is mostly.
func heldWalk(bpm, part, bars float64, stages ...heldStage) heldMake {
	return func(r *rand.Rand) *heldTrace {
		keep := math.Exp(-1 / (4 * bars))
		off := r.NormFloat64()
		sent := mapped(heldLong(bpm), func(i int) float64 {
			if i%24 == 23 {
				off = keep*off + math.Sqrt(1-keep*keep)*r.NormFloat64()
			}
			return bpm * (1 + part*off)
		})
		return heldSend(sent).through(r, stages...)
	}
}

// heldRamp changes the tempo by slope BPM a minute from the 17th beat on.
func heldRamp(bpm, slope float64, stages ...heldStage) heldMake {
	return func(r *rand.Rand) *heldTrace {
		return heldSend(ramp(heldLong(bpm), 384, bpm, slope)).through(r, stages...)
	}
}

// heldSlowing plays, slows down evenly over so many bars to another tempo, and
// keeps that for two bars; as often as the trace is long.
func heldSlowing(bpm, to float64, bars int, stages ...heldStage) heldMake {
	return func(r *rand.Rand) *heldTrace {
		phrase := 96 * (8 + bars + 2)
		sent := mapped(3*phrase, func(i int) float64 {
			in := float64(i%phrase-8*96) / float64(96*bars)
			return bpm + (to-bpm)*min(max(in, 0), 1)
		})
		return heldSend(sent, phrase, 2*phrase).through(r, stages...)
	}
}

// heldSteps plays each tempo for 16 bars less a beat or two: it steps off the bar.
func heldSteps(tempos []float64, stages ...heldStage) heldMake {
	return func(r *rand.Rand) *heldTrace {
		const long = 16*96 - 31
		var marks []int
		for i := 1; i < len(tempos); i++ {
			marks = append(marks, i*long)
		}
		sent := mapped(long*len(tempos), func(i int) float64 { return tempos[i/long] })
		return heldSend(sent, marks...).through(r, stages...)
	}
}

// heldSlips plays at one tempo; so many times all ticks from one on are later,
// by ms, than they would have been. The music is later with them.
func heldSlips(bpm, ms float64, times int, stages ...heldStage) heldMake {
	return func(r *rand.Rand) *heldTrace {
		sent := steady(BPM(bpm), heldLong(bpm))
		var marks []int
		part := (len(sent) - 400) / times
		for k := range times {
			n := 250 + k*part + r.IntN(part-100)
			marks = append(marks, n)
			for i := n; i < len(sent); i++ {
				sent[i] += Time(ms * 1e6)
			}
		}
		h := heldSend(sent, marks...).through(r, stages...)
		h.unsure = ms*1e6 > 0.45*periodOf(BPM(bpm))
		return h
	}
}

// heldDrift plays on a clock whose rate swings slowly, by so many millionths.
func heldDrift(bpm, millionths float64, over Time, stages ...heldStage) heldMake {
	return func(r *rand.Rand) *heldTrace {
		swing := heldSwing(r, float64(over)/periodOf(BPM(bpm)))
		sent := mapped(3*heldLong(bpm), func(i int) float64 { return bpm * (1 + millionths/1e6*swing(float64(i))) })
		return heldSend(sent).through(r, stages...)
	}
}
