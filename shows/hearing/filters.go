package hearing

import (
	"math"
	"slices"
)

// medianFilter returns the median of the window values around each; the window is made odd.
func medianFilter(x []float64, window int) []float64 {
	half := window / 2
	out := make([]float64, len(x))
	var sorted []float64
	for i := -half; i < len(x); i++ {
		if in := i + half; in < len(x) {
			k, _ := slices.BinarySearch(sorted, x[in])
			sorted = slices.Insert(sorted, k, x[in])
		}
		if gone := i - half - 1; gone >= 0 {
			k, _ := slices.BinarySearch(sorted, x[gone])
			sorted = slices.Delete(sorted, k, k+1)
		}
		if i >= 0 {
			out[i] = sorted[len(sorted)/2]
		}
	}
	return out
}

// maxFilter returns the largest of the values around each, half to each side.
func maxFilter(x []float64, half int) []float64 {
	out := make([]float64, len(x))
	var queue []int // indexes of falling values
	for i := -half; i < len(x); i++ {
		if in := i + half; in < len(x) {
			for len(queue) > 0 && x[queue[len(queue)-1]] <= x[in] {
				queue = queue[:len(queue)-1]
			}
			queue = append(queue, in)
		}
		for len(queue) > 0 && queue[0] < i-half {
			queue = queue[1:]
		}
		if i >= 0 {
			out[i] = x[queue[0]]
		}
	}
	return out
}

// smooth is a Gaussian of a standard deviation, in values. The ends count on.
func smooth(x []float64, sigma float64) []float64 {
	half := int(math.Ceil(4 * sigma))
	kernel := make([]float64, half+1)
	sum := 0.0
	for i := range kernel {
		kernel[i] = math.Exp(-0.5 * float64(float64(i)/sigma*float64(i)/sigma))
		sum += kernel[i]
		if i > 0 {
			sum += kernel[i]
		}
	}
	out := make([]float64, len(x))
	for i := range x {
		v := float64(kernel[0] * x[i])
		for k := 1; k <= half; k++ {
			v += float64(kernel[k] * (x[max(i-k, 0)] + x[min(i+k, len(x)-1)]))
		}
		out[i] = v / sum
	}
	return out
}

// percentile returns the value under which a share p, 0..1, lies.
func percentile(x []float64, p float64) float64 {
	if len(x) == 0 {
		return 0
	}
	sorted := slices.Clone(x)
	slices.Sort(sorted)
	at := p * float64(len(sorted)-1)
	i := int(at)
	if i+1 >= len(sorted) {
		return sorted[i]
	}
	return sorted[i] + float64((at-float64(i))*(sorted[i+1]-sorted[i]))
}

func mean(x []float64) float64 {
	if len(x) == 0 {
		return 0
	}
	sum := 0.0
	for _, v := range x {
		sum += v
	}
	return sum / float64(len(x))
}

// spread returns the standard deviation.
func spread(x []float64) float64 {
	m, sum := mean(x), 0.0
	for _, v := range x {
		sum += float64((v - m) * (v - m))
	}
	if len(x) == 0 {
		return 0
	}
	return math.Sqrt(sum / float64(len(x)))
}

// standardize takes the mean out of the values and divides by their spread.
func standardize(x []float64) []float64 {
	m, s := mean(x), spread(x)+1e-9
	out := make([]float64, len(x))
	for i, v := range x {
		out[i] = (v - m) / s
	}
	return out
}

func dot(a, b []float64) float64 {
	sum := 0.0
	for i := range a {
		sum += float64(a[i] * b[i])
	}
	return sum
}

// unit makes a vector as long as 1, but for one that is next to nothing.
func unit(x []float64) []float64 {
	n := math.Sqrt(dot(x, x)) + 1e-6
	out := make([]float64, len(x))
	for i, v := range x {
		out[i] = v / n
	}
	return out
}
