package clock

import (
	"bytes"
	"encoding/csv"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
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

// followErrors plays arrivals after a Start and returns how far the shown beat is off
// the truth, ns, half a tick after every tick from skip on.
func followErrors(sent, got []Time, skip int) []float64 {
	tr := NewTransport(Config{})
	tr.Handle(Event{At: got[0] - Millisecond, Kind: Start})
	var errors []float64
	for i, at := range got {
		tr.Handle(Event{At: at, Kind: Tick24})
		if i >= skip && i+1 < len(sent) {
			probe := at + (sent[i+1]-sent[i])/2
			truth := float64(i) + float64(probe-sent[i])/float64(sent[i+1]-sent[i])
			shown := float64(tr.At(probe).Beat) / float64(Tick)
			errors = append(errors, (shown-truth)*float64(sent[i+1]-sent[i]))
		}
	}
	return errors
}

// A rival estimates the tick number at a moment from the ticks so far.
type rival interface {
	tick(at float64)           // seconds
	number(at float64) float64 // ticks
}

// lastTick is what a plain program does: the last tick is now, the last
// interval is the tempo.
type lastTick struct {
	n            float64
	last, period float64
}

func (r *lastTick) tick(at float64) {
	if r.n > 0 && at > r.last {
		r.period = at - r.last
	}
	r.n++
	r.last = at
}

func (r *lastTick) number(at float64) float64 { return r.n - 1 + (at-r.last)/r.period }

// dll is the delay-locked loop of F. Adriaensen, "Using a DLL to filter time",
// 2005: a second-order loop of bandwidth B, critically damped.
type dll struct {
	n              float64
	t0, t1, e, e2  float64
	b, c           float64
	bandwidth, tau float64 // Hz; the nominal period, s
}

func (r *dll) tick(at float64) {
	r.n++
	if r.n == 1 {
		w := 2 * math.Pi * r.bandwidth * r.tau
		r.b, r.c = math.Sqrt2*w, w*w
		r.e2, r.t0, r.t1 = r.tau, at, at+r.tau
		return
	}
	r.e = at - r.t1
	r.t0 = r.t1
	r.t1 += r.b*r.e + r.e2
	r.e2 += r.c * r.e
}

func (r *dll) number(at float64) float64 { return r.n - 1 + (at-r.t0)/(r.t1-r.t0) }

// TestDLLReference holds the rival to worked values, so that it is a fair one.
func TestDLLReference(t *testing.T) {
	r := &dll{bandwidth: 0.5, tau: 1 / 48.}
	for i, row := range readCSV(t, "dll.csv") {
		r.tick(row[1])
		for j, got := range []float64{r.e, r.t0, r.t1, r.e2} {
			assert.InDelta(t, row[j+2], got, 1e-9, "tick %d, column %d", i, j+2)
		}
	}
}

// readCSV reads a table of numbers from the reference data; what is no number
// reads as NaN.
func readCSV(t *testing.T, name string) [][]float64 {
	t.Helper()
	src, err := os.ReadFile("../testdata/reference/" + name)
	require.NoError(t, err)
	records, err := csv.NewReader(bytes.NewReader(src)).ReadAll()
	require.NoError(t, err)
	var rows [][]float64
	for _, record := range records[1:] {
		row := make([]float64, len(record))
		for i, field := range record {
			if row[i], err = strconv.ParseFloat(field, 64); err != nil {
				row[i] = math.NaN()
			}
		}
		rows = append(rows, row)
	}
	return rows
}

// rivalErrors is followErrors for a rival.
func rivalErrors(r rival, sent, got []Time, skip int) []float64 {
	var errors []float64
	for i, at := range got {
		r.tick(float64(at) / 1e9)
		if i >= skip && i+1 < len(sent) {
			period := float64(sent[i+1] - sent[i])
			probe := at + Time(period)/2
			truth := float64(i) + float64(probe-sent[i])/period
			errors = append(errors, (r.number(float64(probe)/1e9)-truth)*period)
		}
	}
	return errors
}

// centred subtracts the mean: a constant delay is set off by whoever sets the
// show up, and the rivals aim at the mean arrival, not at the first.
func centred(errors []float64) []float64 {
	var mean float64
	for _, e := range errors {
		mean += e / float64(len(errors))
	}
	out := make([]float64, len(errors))
	for i, e := range errors {
		out[i] = e - mean
	}
	return out
}

func TestJitter(t *testing.T) {
	NumbersOnly(t)
	for _, c := range []struct {
		name     string
		d        delay
		tempo    float64
		skip     int     // ticks before it counts
		p99, max float64 // ms
	}{
		{"none", halfNormal(0), 120, 2, 0.05, 0.7},
		{"half-normal 1 ms", halfNormal(Millisecond), 120, 96, 0.2, 2.3},
		{"half-normal 5 ms", halfNormal(5 * Millisecond), 120, 96, 0.9, 3.5},
		{"half-normal 5 ms, slow", halfNormal(5 * Millisecond), 60, 96, 1.0, 3.5},
		{"half-normal 5 ms, fast", halfNormal(5 * Millisecond), 174, 96, 1.0, 3.5},
		{"exponential 2 ms", exponential(2 * Millisecond), 120, 96, 0.5, 1.5},
		{"bursty", bursty, 120, 96, 0.5, 1.4},
	} {
		t.Run(c.name, func(t *testing.T) {
			tempo := BPM(c.tempo)
			var ours, plain, loop []float64
			for seed := range uint64(10) {
				sent := steady(tempo, 1200)
				got := arrivals(sent, c.d, seed)
				ours = append(ours, followErrors(sent, got, c.skip)...)
				plain = append(plain, centred(rivalErrors(&lastTick{}, sent, got, c.skip))...)
				r := &dll{bandwidth: 0.5, tau: periodOf(tempo) / 1e9}
				loop = append(loop, centred(rivalErrors(r, sent, got, c.skip))...)
			}
			p99, worst := percentile(ours, 0.99), percentile(ours, 1)
			t.Logf("p99 %.3f ms, worst %.3f ms; last tick p99 %.3f ms, loop p99 %.3f ms",
				p99, worst, percentile(plain, 0.99), percentile(loop, 0.99))
			assert.LessOrEqual(t, p99, c.p99)
			assert.LessOrEqual(t, worst, c.max)
			if c.p99 > 0.06 {
				assert.LessOrEqual(t, p99, percentile(plain, 0.99)/5, "p99 %.3f ms is no better than last tick %.3f or loop %.3f", p99, percentile(plain, 0.99), percentile(loop, 0.99))
				assert.LessOrEqual(t, p99, percentile(loop, 0.99)/1.5, "p99 %.3f ms is no better than last tick %.3f or loop %.3f", p99, percentile(plain, 0.99), percentile(loop, 0.99))
			}
		})
	}
}

// step sends before ticks at one tempo and after at another.
func step(from, to Tempo, before, after int) []Time {
	sent := steady(from, before)
	last := sent[before-1]
	for i := 1; i <= after; i++ {
		sent = append(sent, last+Time(float64(i)*periodOf(to)))
	}
	return sent
}
