package hearing

import (
	"math"
	"slices"
)

// oddBar is what a bar of fewer beats costs.
const oddBar = 6.0

// downbeatEvidence returns for each beat how much speaks for a downbeat on it: a low onset,
// any onset, a change of harmony and of sound, and no snare.
func (f *features) downbeatEvidence(beats []float64) []float64 {
	n := len(beats)
	low, onset, harmony, timbre, noSnare := make([]float64, n), make([]float64, n), make([]float64, n), make([]float64, n), make([]float64, n)
	middle := func(b int) bool { return f.centre[b] > 200 && f.centre[b] < 1200 }
	for i, t := range beats {
		at := f.frameAt(t)
		a, z := max(0, at-3), min(len(f.onset), at+5)
		low[i], onset[i] = slices.Max(f.low[a:z]), slices.Max(f.onset[a:z])
		most := 0.0
		for k := a; k < z; k++ {
			sum := 0.0
			for b, v := range f.flux[k] {
				if middle(b) {
					sum += v
				}
			}
			most = max(most, sum)
		}
		noSnare[i] = -most
		if i == 0 || i == n-1 {
			continue
		}
		before, after := f.chromaBetween(beats[i-1], t), f.chromaBetween(t, beats[i+1])
		harmony[i] = 1 - dot(unit(before), unit(after))
		was, is := f.bandsBetween(beats[i-1], t), f.bandsBetween(t, beats[i+1])
		for b := range was {
			timbre[i] += math.Abs(is[b]-was[b]) / float64(len(was))
		}
	}
	low, onset, harmony, timbre, noSnare = standardize(low), standardize(onset), standardize(harmony), standardize(timbre), standardize(noSnare)
	out := make([]float64, n)
	for i := range out {
		sum := float64(0.6*low[i]) + float64(0.2*onset[i]) + harmony[i] + float64(0.4*timbre[i]) + float64(0.35*noSnare[i])
		out[i] = min(max(sum, -2), 3.5)
	}
	return out
}

func (f *features) chromaBetween(from, to float64) []float64 {
	a, z := f.chromaAt(from), f.chromaAt(to)
	return average(f.chroma[a:max(z, a+1)])
}

func (f *features) bandsBetween(from, to float64) []float64 {
	a, z := f.frameAt(from), f.frameAt(to)
	return average(f.bands[a:max(z, a+1)])
}

func average(rows [][]float64) []float64 {
	out := make([]float64, len(rows[0]))
	for _, r := range rows {
		for i, v := range r {
			out[i] += v
		}
	}
	for i := range out {
		out[i] /= float64(len(rows))
	}
	return out
}

// barPlaces gives each beat its place in a bar of some beats, from 0, and says how well
// that fits. A bar may be cut short, at a cost.
func barPlaces(evidence []float64, beats int) (places []int, score float64) {
	n := len(evidence)
	value := func(i, place int) float64 {
		if place == 0 {
			return evidence[i]
		}
		return -evidence[i] / float64(beats-1)
	}
	now, from := make([]float64, beats), make([][]int, n)
	for p := range now {
		now[p] = value(0, p)
	}
	for i := 1; i < n; i++ {
		next := make([]float64, beats)
		from[i] = make([]int, beats)
		best, which := math.Inf(-1), 0
		for p, v := range now {
			if p != beats-1 {
				v -= oddBar
			}
			if v > best {
				best, which = v, p
			}
		}
		next[0], from[i][0] = best+value(i, 0), which
		for p := 1; p < beats; p++ {
			next[p], from[i][p] = now[p-1]+value(i, p), p-1
		}
		now = next
	}
	p := 0
	for k, v := range now {
		if v > now[p] {
			p = k
		}
	}
	score = now[p] / float64(n) * math.Sqrt(float64(beats-1))
	places = make([]int, n)
	for i := n - 1; i >= 0; i-- {
		places[i] = p
		if i > 0 {
			p = from[i][p]
		}
	}
	return places, score
}
