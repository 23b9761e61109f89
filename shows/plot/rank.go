package plot

import (
	"math"
	"slices"
)

// spearman returns the rank correlation of two lists of one length, -1..1: that
// of Pearson on their ranks, where equals share the mean of theirs (Spearman
// 1904). It is NaN when either says nothing: fewer than three, or all equal.
func spearman(a, b []float64) float64 {
	n := len(a)
	if n < 3 {
		return math.NaN()
	}
	a, b = ranks(a), ranks(b)
	mean := float64(n+1) / 2
	var ab, aa, bb float64
	for i := range n {
		x, y := a[i]-mean, b[i]-mean
		ab += float64(x * y)
		aa += float64(x * x)
		bb += float64(y * y)
	}
	if aa == 0 || bb == 0 {
		return math.NaN()
	}
	return ab / math.Sqrt(float64(aa*bb))
}

// ranks returns each value's place from 1; equals share the mean of theirs.
func ranks(list []float64) []float64 {
	sorted := slices.Sorted(slices.Values(list))
	out := make([]float64, len(list))
	for i, v := range list {
		first, _ := slices.BinarySearch(sorted, v)
		last := first
		for last+1 < len(sorted) && sorted[last+1] == v {
			last++
		}
		out[i] = float64(first+last)/2 + 1
	}
	return out
}
