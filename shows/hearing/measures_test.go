package hearing

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
)

// fMeasure is how well times are found within a window: mir_eval.beat.f_measure and
// mir_eval.segment.detection, which pair each time with one other at most (Raffel and others,
// "mir_eval", ISMIR 2014). Both lists rise. Pairing in their order finds as many pairs as any
// other way, for windows of one width.
func fMeasure(ref, est []float64, w float64) float64 {
	hits, i, k := 0.0, 0, 0
	for i < len(ref) && k < len(est) {
		switch d := est[k] - ref[i]; {
		case d > w:
			i++
		case d < -w:
			k++
		default:
			hits, i, k = hits+1, i+1, k+1
		}
	}
	if len(ref)+len(est) == 0 {
		return 1
	}
	return 2 * hits / float64(len(ref)+len(est))
}

// lateness returns how late the found beats are in the middle, and how far off nine tenths
// are at most, in milliseconds; of those within 70 ms.
func lateness(ref, est []float64) (middle, most float64) {
	var late, off []float64
	for _, r := range ref {
		best := math.Inf(1)
		for _, e := range est {
			if math.Abs(e-r) < math.Abs(best) {
				best = e - r
			}
		}
		if math.Abs(best) <= 0.07 {
			late, off = append(late, best*1000), append(off, math.Abs(best)*1000)
		}
	}
	return percentile(late, 0.5), percentile(off, 0.9)
}

// spearman is the rank correlation, with mean ranks for ties (Spearman 1904).
func spearman(a, b []float64) float64 {
	rank := func(x []float64) []float64 {
		s := slices.Sorted(slices.Values(x))
		out := make([]float64, len(x))
		for i, v := range x {
			lo, _ := slices.BinarySearch(s, v)
			hi := lo
			for hi < len(s) && s[hi] == v {
				hi++
			}
			out[i] = float64(lo+hi-1) / 2
		}
		return standardize(out)
	}
	return dot(rank(a), rank(b)) / float64(len(a))
}

// Values worked by hand from the definitions.
func TestMeasures(t *testing.T) {
	assert.InDelta(t, 1, fMeasure([]float64{1, 2, 3}, []float64{1.05, 1.95, 3}, 0.07), 1e-12)
	assert.InDelta(t, 2.0/3, fMeasure([]float64{1, 2, 3}, []float64{1, 2.5, 3.05}, 0.07), 1e-12)
	assert.InDelta(t, 2.0/3, fMeasure([]float64{1, 2, 3, 4}, []float64{1, 3}, 0.07), 1e-12) // half the tempo
	assert.Zero(t, fMeasure([]float64{1}, nil, 0.07))
	middle, most := lateness([]float64{1, 2, 3}, []float64{1.01, 2.02, 3.5})
	assert.InDelta(t, 15, middle, 1e-9)
	assert.InDelta(t, 19, most, 1e-9)
	assert.InDelta(t, 1, spearman([]float64{1, 2, 3}, []float64{10, 20, 50}), 1e-6)
	assert.InDelta(t, -1, spearman([]float64{1, 2, 3}, []float64{3, 2, 1}), 1e-6)
	assert.InDelta(t, 0.5, spearman([]float64{1, 2, 3}, []float64{1, 3, 2}), 1e-6)
}
