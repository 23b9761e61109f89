package plan

import (
	"cmp"
	"math"
	"slices"
)

// Spearman returns the rank correlation of two lists of one length, -1..1: the
// correlation of their ranks, where equal values share the mean of their ranks
// (Spearman 1904). It is NaN for fewer than two values, or where all values of a
// list are equal.
func Spearman(a, b []float64) float64 {
	if len(a) != len(b) || len(a) < 2 {
		return math.NaN()
	}
	x, y := ranks(a), ranks(b)
	mean := float64(len(a)+1) / 2
	var xy, xx, yy float64
	for i := range x {
		dx, dy := x[i]-mean, y[i]-mean
		xy += float64(dx * dy)
		xx += float64(dx * dx)
		yy += float64(dy * dy)
	}
	if xx == 0 || yy == 0 {
		return math.NaN()
	}
	return xy / math.Sqrt(float64(xx*yy))
}

// ranks returns the rank of each value, from 1.
func ranks(v []float64) []float64 {
	order := make([]int, len(v))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(i, j int) int { return cmp.Compare(v[i], v[j]) })
	out := make([]float64, len(v))
	for i := 0; i < len(order); {
		j := i
		for j < len(order) && v[order[j]] == v[order[i]] {
			j++
		}
		for k := i; k < j; k++ {
			out[order[k]] = float64(i+j+1) / 2
		}
		i = j
	}
	return out
}
