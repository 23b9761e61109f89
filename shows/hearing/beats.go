package hearing

import "math"

// Weights of following the beat: how unlike two beats may be in length, and how much of a
// beat an onset may take (Krebs, Boeck and Widmer, "An Efficient State-Space Model for Joint
// Tempo and Meter Tracking", ISMIR 2015).
const (
	tempoStiffness = 100
	beatParts      = 16
)

// follow finds the beats, as frames, with tempi from slowest to fastest in BPM: the way
// through places in the beat that the onsets make likeliest (Viterbi). score is how likely, for
// a frame.
func follow(onset []float64, slowest, fastest float64) (beats []int, score float64) {
	shortest, longest := int(60*frameRate/fastest), int(math.Ceil(60*frameRate/slowest))
	kinds := longest - shortest + 1 // of lengths of a beat
	first := make([]int, kinds)
	states := 0
	for k := range first {
		first[k] = states
		states += shortest + k
	}
	change := stiffness(shortest, kinds)
	now, next := make([]float64, states), make([]float64, states)
	for i := range now {
		now[i] = -math.Log(float64(states))
	}
	from := make([][]int16, len(onset))
	for t, v := range onset {
		v = min(max(v, 0.001), 0.95)
		beat, rest := math.Log(v), math.Log((1-v)/(beatParts-1))
		copy(next[1:], now)
		from[t] = make([]int16, kinds)
		for k := range kinds {
			best, which := math.Inf(-1), 0
			for j := range kinds {
				if s := now[first[j]+shortest+j-1] + change[j*kinds+k]; s > best {
					best, which = s, j
				}
			}
			next[first[k]], from[t][k] = best, int16(which)
		}
		for k := range kinds {
			length := shortest + k
			part := next[first[k] : first[k]+length]
			on := (length + beatParts - 1) / beatParts // places under 1/beatParts
			for i := range on {
				part[i] += beat
			}
			for i := on; i < length; i++ {
				part[i] += rest
			}
		}
		now, next = next, now
	}
	return backwards(now, from, first, shortest)
}

// stiffness returns the logarithms of how likely a beat of one length follows one of another.
func stiffness(shortest, kinds int) []float64 {
	change := make([]float64, kinds*kinds)
	for j := range kinds {
		sum := 0.0
		row := change[j*kinds : (j+1)*kinds]
		for k := range row {
			row[k] = -tempoStiffness * math.Abs(float64(shortest+k)/float64(shortest+j)-1)
			sum += math.Exp(row[k])
		}
		for k := range row {
			row[k] -= math.Log(sum)
		}
	}
	return change
}

// backwards returns the beats on the likeliest way, and its score for a frame.
func backwards(last []float64, from [][]int16, first []int, shortest int) (beats []int, score float64) {
	best := 0
	for i, v := range last {
		if v > last[best] {
			best = i
		}
	}
	k := len(first) - 1
	for first[k] > best {
		k--
	}
	place := best - first[k]
	for t := len(from) - 1; t >= 0; t-- {
		if place > 0 {
			place--
			continue
		}
		beats = append(beats, t)
		k = int(from[t][k])
		place = shortest + k - 1
	}
	for i, j := 0, len(beats)-1; i < j; i, j = i+1, j-1 {
		beats[i], beats[j] = beats[j], beats[i]
	}
	return beats, last[best] / float64(max(len(from), 1))
}

// refine moves each beat to the middle of the onset it stands at, within 60 ms, and gives
// seconds.
func refine(beats []int, onset []float64) []float64 {
	out := make([]float64, len(beats))
	for i, b := range beats {
		a, z := max(0, b-4), min(len(onset), b+6)
		sum, weighted, most := 0.0, 0.0, 0.0
		for k := a; k < z; k++ {
			sum += onset[k]
			weighted += float64(float64(k) * onset[k])
			most = max(most, onset[k])
		}
		at := float64(b)
		if most > 0.15 {
			at = weighted / sum
		}
		out[i] = at / frameRate
	}
	return out
}
