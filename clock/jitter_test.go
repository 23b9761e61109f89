package clock

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// delay models give how late one tick arrives, ns. They are one-sided: a tick
// cannot arrive before it was sent.
type delay func(*rand.Rand) float64

func halfNormal(sigma Time) delay {
	return func(r *rand.Rand) float64 { return math.Abs(r.NormFloat64()) * float64(sigma) }
}

func exponential(mean Time) delay {
	return func(r *rand.Rand) float64 { return r.ExpFloat64() * float64(mean) }
}

// bursty is mostly quick, and now and then slow by a scheduler's time slice.
func bursty(r *rand.Rand) float64 {
	d := r.ExpFloat64() * 0.3e6
	if r.Float64() < 0.05 {
		d += r.Float64() * 15e6
	}
	return d
}

// arrivals sends ticks at the given true times through a queue with a delay.
// Ticks don't overtake each other.
func arrivals(sent []Time, d delay, seed uint64) []Time {
	r := rand.New(rand.NewPCG(seed, 24))
	got := make([]Time, len(sent))
	for i, at := range sent {
		got[i] = at + Time(d(r))
		if i > 0 {
			got[i] = max(got[i], got[i-1])
		}
	}
	return got
}

// steady returns the true times of n ticks.
func steady(tempo Tempo, n int) []Time {
	sent := make([]Time, n)
	for i := range sent {
		sent[i] = Second + Time(float64(i)*periodOf(tempo))
	}
	return sent
}

// percentile returns the p-quantile of |errors|, ms.
func percentile(errors []float64, p float64) float64 {
	sorted := make([]float64, len(errors))
	for i, e := range errors {
		sorted[i] = math.Abs(e)
	}
	slices.Sort(sorted)
	return sorted[int(p*float64(len(sorted)-1))] / 1e6
}

// follow plays arrivals after a Start and returns how far the shown beat is off
// the truth, ns, half a tick after every tick from skip on.
func follow(sent, got []Time, tempo Tempo, skip int) []float64 {
	tr := NewTransport(Config{})
	tr.Handle(Event{At: got[0] - Millisecond, Kind: Start})
	var errors []float64
	for i, at := range got {
		tr.Handle(Event{At: at, Kind: Tick24})
		if i >= skip && i+1 < len(sent) {
			probe := at + (sent[i+1]-sent[i])/2
			truth := float64(i) + float64(probe-sent[i])/float64(sent[i+1]-sent[i])
			shown := float64(tr.At(probe).Beat) / float64(Tick)
			errors = append(errors, (shown-truth)*periodOf(tempo))
		}
	}
	return errors
}

func TestX(t *testing.T) {
	for _, m := range []struct {
		name string
		d    delay
	}{{"hn5", halfNormal(5 * Millisecond)}, {"hn1", halfNormal(Millisecond)}, {"exp2", exponential(2 * Millisecond)}, {"bursty", bursty}, {"none", halfNormal(0)}} {
		for _, skip := range []int{24, 96, 192, 400} {
			var all []float64
			for seed := range uint64(20) {
				sent := steady(BPM(120), 3000)
				all = append(all, follow(sent, arrivals(sent, m.d, seed), BPM(120), skip)[:500]...)
			}
			mean := 0.
			for _, e := range all {
				mean += e / float64(len(all)) / 1e6
			}
			t.Logf("%s skip %d: median %.3f p99 %.3f max %.3f mean %.3f", m.name, skip, percentile(all, .5), percentile(all, .99), percentile(all, 1), mean)
		}
	}
}
