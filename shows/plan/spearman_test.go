package plan_test

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat"
	"pgregory.net/rapid"
	"tactus/shows/plan"
)

func TestSpearmanOfTextbooks(t *testing.T) {
	for _, x := range []struct {
		source string
		a, b   []float64
		want   float64
	}{
		{ // squares of the differences of ranks sum up to 194: 1 - 6·194/990
			"ten people's IQ and hours of television, the usual worked example (from memory)",
			[]float64{106, 100, 86, 101, 99, 103, 97, 113, 112, 110},
			[]float64{7, 27, 2, 50, 28, 29, 20, 12, 6, 17},
			-29.0 / 165,
		},
		{ // squares sum up to 54: 1 - 6·54/990
			"ten students' marks in English and mathematics, a usual worked example (from memory)",
			[]float64{56, 75, 45, 71, 62, 64, 58, 80, 76, 61},
			[]float64{66, 70, 40, 60, 65, 56, 59, 77, 67, 63},
			111.0 / 165,
		},
		{ // ranks 1 2 3½ 5 3½: 8/√(10·9.5)
			"two that share a rank, the example in the manual of SciPy's spearmanr (from memory)",
			[]float64{1, 2, 3, 4, 5},
			[]float64{5, 6, 7, 8, 7},
			0.820782681668,
		},
		{"from the definition: ranks 1 2½ 2½ 4", []float64{1, 2, 2, 3}, []float64{1, 2, 3, 4}, 4.5 / math.Sqrt(22.5)},
		{"the same order", []float64{1, 5, 6, 9}, []float64{0.1, 0.2, 7, 8}, 1},
		{"the other way round", []float64{1, 5, 6, 9}, []float64{8, 7, 0.2, 0.1}, -1},
	} {
		assert.InDelta(t, x.want, plan.Spearman(x.a, x.b), 1e-12, x.source)
	}
}

func TestSpearmanSaysNothing(t *testing.T) {
	for _, x := range []struct{ a, b []float64 }{
		{nil, nil},
		{[]float64{1}, []float64{1}},
		{[]float64{1, 2}, []float64{1}},
		{[]float64{3, 3, 3}, []float64{1, 2, 3}},
		{[]float64{1, 2, 3}, []float64{3, 3, 3}},
	} {
		got := plan.Spearman(x.a, x.b)
		assert.True(t, math.IsNaN(got), "%v and %v: %v", x.a, x.b, got)
	}
}

// counted ranks by counting those below, the slow way.
func counted(v []float64) []float64 {
	out := make([]float64, len(v))
	for i := range v {
		below, same := 0, 0
		for _, other := range v {
			switch {
			case other < v[i]:
				below++
			case other == v[i]:
				same++
			}
		}
		out[i] = float64(below) + (float64(same)+1)/2
	}
	return out
}

// lists draws two of one length. Few values make many ties, as energies do.
func lists(t *rapid.T) (a, b []float64) {
	n := rapid.IntRange(2, 30).Draw(t, "n")
	a = rapid.SliceOfN(rapid.Map(rapid.IntRange(0, 10), func(i int) float64 { return float64(i) }), n, n).Draw(t, "energies")
	b = rapid.SliceOfN(rapid.OneOf(rapid.Float64Range(0, 10), rapid.Just(5.0)), n, n).Draw(t, "strengths")
	return a, b
}

// gonum has no rank correlation; that of the ranks is what Spearman defined.
func TestSpearmanAsGonum(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := lists(t)
		got, want := plan.Spearman(a, b), stat.Correlation(counted(a), counted(b), nil)
		level := slices.Min(a) == slices.Max(a) || slices.Min(b) == slices.Max(b)
		require.Equal(t, level, math.IsNaN(got), "and all one value")
		if !level {
			require.InDelta(t, want, got, 1e-12)
		}
	})
}

func TestSpearmanKeeps(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := lists(t)
		r := plan.Spearman(a, b)
		if math.IsNaN(r) {
			return
		}
		near := func(what string, got, want float64) {
			require.InDelta(t, want, got, 1e-12, what)
		}
		require.LessOrEqual(t, math.Abs(r), 1+1e-12, "out of range")
		near("the other way about", plan.Spearman(b, a), r)
		near("with itself", plan.Spearman(a, a), 1)
		minus, cubed := make([]float64, len(a)), make([]float64, len(a))
		for i, v := range a {
			minus[i], cubed[i] = -v, float64(v*v*v)-40
		}
		near("turned over", plan.Spearman(minus, b), -r)
		near("bent, in the same order", plan.Spearman(cubed, b), r)
		order := rapid.Permutation(order(len(a))).Draw(t, "order")
		x, y := make([]float64, len(a)), make([]float64, len(a))
		for i, k := range order {
			x[i], y[i] = a[k], b[k]
		}
		near("in another order", plan.Spearman(x, y), r)
	})
}

func order(n int) []int {
	list := make([]int, n)
	for i := range list {
		list[i] = i
	}
	return list
}
