package clock

import (
	"math"
	"strings"
	"testing"
)

// offline returns how far off a smoother is that knows the model: it has all ticks,
// those to come as well, and draws the straight line of least squares through them
// where the tempo stands, else a cubic through the two bars around each. Of the two
// the better one.
func (t *trace) offline(steady bool) []float64 {
	var sent, came []float64
	next := 0
	for i, s := range t.sent {
		if t.gone[i] {
			continue
		}
		for t.events[next].Kind != Tick24 {
			next++
		}
		sent, came = append(sent, float64(s)), append(came, float64(t.events[next].At))
		next++
		if t.twice[i] {
			next++
		}
	}
	reach := 96
	order := 3
	if steady {
		reach, order = len(sent), 1
	}
	var out []float64
	for i := warmUp; i < len(sent); i += 4 {
		lo, hi := max(0, i-reach), min(len(sent), i+reach)
		out = append(out, smoothed(sent[lo:hi], came[lo:hi], i-lo, order)-sent[i])
	}
	return centred(out)
}

// smoothed returns the value at place i of the polynomial of an order in the true
// times that comes nearest to the arrivals.
func smoothed(x, y []float64, i, order int) float64 {
	var a [4][5]float64
	scale := math.Max(x[len(x)-1]-x[0], 1)
	for k := range x {
		u, v := (x[k]-x[i])/scale, (y[k]-x[i])/scale
		p := [4]float64{1, u, u * u, u * u * u}
		for r := range order + 1 {
			for c := range order + 1 {
				a[r][c] += p[r] * p[c]
			}
			a[r][4] += p[r] * v
		}
	}
	for r := range order + 1 { // Gauss
		for k := r + 1; k <= order; k++ {
			f := a[k][r] / a[r][r]
			for c := range 5 {
				a[k][c] -= f * a[r][c]
			}
		}
	}
	var s [4]float64
	for r := order; r >= 0; r-- {
		s[r] = a[r][4]
		for c := r + 1; c <= order; c++ {
			s[r] -= a[r][c] * s[c]
		}
		s[r] /= a[r][r]
	}
	return x[i] + s[0]*scale
}

// BenchmarkArrivals prints how far the beat is off, about the best constant, with
// the tempo lock, with four simple followers, and with a smoother that has the
// ticks to come as well, which is about as well as it can be done. The seeds are
// fixed; only ns/op changes between runs.
func BenchmarkArrivals(b *testing.B) {
	const seeds = 3
	for i := range arrivalModels {
		m := &arrivalModels[i]
		row := strings.NewReplacer(" ", "-", "/", ":", ",", "").Replace(m.name)
		report := func(who string, off func(t *trace, tick float64) []float64) {
			b.Run(row+"/"+who, func(b *testing.B) {
				var all []float64
				for b.Loop() {
					all = all[:0]
					for seed := range uint64(seeds) {
						t := m.trace(seed)
						all = append(all, off(t, float64(t.sent[1]-t.sent[0]))...)
					}
				}
				b.ReportMetric(percentile(all, 0.5), "p50-ms")
				b.ReportMetric(percentile(all, 0.99), "p99-ms")
				b.ReportMetric(percentile(all, 1), "worst-ms")
			})
		}
		report("ours", func(t *trace, tick float64) []float64 { return t.about(t.ours(warmUp), tick) })
		for _, f := range followers() {
			report(f.name, func(t *trace, tick float64) []float64 { return t.about(t.rival(warmUp, f.make(tick)), tick) })
		}
		report("offline", func(t *trace, _ float64) []float64 { return t.offline(m.steady) })
	}
}
