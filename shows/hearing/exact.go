package hearing

import "math"

// Lengths of the look at the samples around a beat, in samples.
const (
	blink    = 64               // over which energy is summed: 3 ms
	early    = 9 * rate / 1000  // by which onsets are heard too early as a rule
	before   = 35 * rate / 1000 // how far before a beat its stroke is looked for
	after    = 35 * rate / 1000
	riseOver = 132 // the time in which a stroke rises: 6 ms
	stepOver = 16
)

// clearRise is how many times the energy grows in a stroke that is worth following: 3 dB, as a
// natural logarithm.
const clearRise = 0.7

// exact moves beats, in seconds, to where their strokes begin. The windows that onsets are heard
// through are 93 ms long and see a stroke coming, the louder the earlier: by up to 20 ms. A beat
// without a clear stroke stays.
func exact(beats []float64, samples []float32) []float64 {
	out := make([]float64, len(beats))
	for i, b := range beats {
		out[i] = b + float64(early)/rate
		from := max(blink, int(b*rate)-before)
		to := min(len(samples)-riseOver-blink-1, int(b*rate)+after)
		most, at := clearRise, -1
		for k := from; k < to; k += stepOver {
			rise := energyRise(samples, k, false) + energyRise(samples, k, true)
			rise = rise/2 - square(float64(k+riseOver/2-int(b*rate)-early)/(0.02*rate))
			if rise > most {
				most, at = rise, k
			}
		}
		if at >= 0 {
			out[i] = float64(at+riseOver/2) / rate
		}
	}
	return out
}

// energyRise returns the logarithm of how many times more energy there is riseOver samples after
// k than at k; edges counts changes from sample to sample, which high strokes have.
func energyRise(samples []float32, k int, edges bool) float64 {
	sum := func(from int) float64 {
		e := 1e-7
		for n := from; n < from+blink; n++ {
			v := float64(samples[n])
			if edges {
				v -= float64(samples[n-1])
			}
			e += float64(v * v)
		}
		return e
	}
	return math.Log(sum(k+riseOver-blink/2) / sum(k-blink/2))
}
