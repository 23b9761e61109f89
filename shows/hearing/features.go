package hearing

import (
	"math"

	"gonum.org/v1/gonum/dsp/fourier"

	"tactus/shows/hearing/sound"
)

// rate is how many samples of a recording are listened to in a second.
const rate = sound.AnalysisRate

const (
	hop       = 221 // samples from one frame to the next: 10 ms
	window    = 2048
	harmonic  = 8192    // the window for harmony
	slow      = 5       // frames from one frame of harmony to the next
	perOctave = 12      // bands
	lowest    = 30.0    // Hz
	highest   = 10000.0 // Hz
)

// frameRate is how many frames a second has; second is that in whole frames.
const (
	frameRate = float64(rate) / hop
	second    = rate / hop
)

// features is what is heard in a recording: levels, onsets and harmony, frame by frame.
type features struct {
	seconds float64     // how long the recording is
	samples []float32   // as they are
	bands   [][]float64 // log levels by frame, a value each band
	centre  []float64   // of the bands, in Hz
	flux    [][]float64 // how much louder each band has become
	onset   []float64   // 0..1: something begins here
	low     []float64   // 0..1: in the bass, under 160 Hz
	chroma  [][]float64 // the 12 pitch classes, a frame of harmony each
}

// hear measures samples.
func hear(samples []float32, progress func(done float64)) *features {
	y := levelled(samples)
	f := &features{seconds: float64(len(samples)) / rate, samples: samples}
	filter, centre := triangles()
	f.centre = centre
	frames := 1 + len(y)/hop
	f.bands = make([][]float64, frames)
	spectrum := newSpectrum(window)
	for i := range f.bands {
		s := spectrum.at(y, i*hop)
		row := make([]float64, len(filter))
		for b, t := range filter {
			row[b] = math.Log10(1 + float64(20*t.of(s)))
		}
		f.bands[i] = row
		if i%1000 == 0 {
			progress(0.5 * float64(i) / float64(frames))
		}
	}
	f.onsets()
	f.harmony(y, progress)
	progress(1)
	return f
}

// levelled brings samples to a level at which log levels are alike for all recordings.
func levelled(samples []float32) []float64 {
	power := func(least float64) float64 {
		sum, n := 0.0, 0
		for _, v := range samples {
			if w := float64(float64(v) * float64(v)); w >= least {
				sum, n = sum+w, n+1
			}
		}
		return sum / float64(max(n, 1))
	}
	loud := power(1e-6 * power(0)) // silence around the music does not count
	gain := 0.1 / (math.Sqrt(loud) + 1e-9)
	y := make([]float64, len(samples))
	for i, v := range samples {
		y[i] = float64(v) * gain
	}
	return y
}

// spectrum measures the magnitudes of windows.
type spectrum struct {
	fft    *fourier.FFT
	window []float64
	in     []float64
	coeff  []complex128
	out    []float64
}

func newSpectrum(size int) *spectrum {
	s := &spectrum{fft: fourier.NewFFT(size), window: make([]float64, size), in: make([]float64, size), out: make([]float64, size/2+1)}
	for i := range s.window { // Hann, periodic
		s.window[i] = 0.5 - 0.5*math.Cos(2*math.Pi*float64(i)/float64(size))
	}
	return s
}

// at returns the magnitudes of the window around a sample. They stay valid until the next call.
func (s *spectrum) at(y []float64, middle int) []float64 {
	from := middle - len(s.in)/2
	for i := range s.in {
		s.in[i] = 0
		if k := from + i; k >= 0 && k < len(y) {
			s.in[i] = y[k] * s.window[i]
		}
	}
	s.coeff = s.fft.Coefficients(s.coeff, s.in)
	for i, c := range s.coeff {
		s.out[i] = math.Hypot(real(c), imag(c))
	}
	return s.out
}

// triangle is a band: weights of neighbouring frequencies, which sum to 1.
type triangle struct {
	first   int
	weights []float64
}

func (t *triangle) of(s []float64) float64 { return dot(t.weights, s[t.first:t.first+len(t.weights)]) }

// triangles returns the bands, twelve an octave.
func triangles() (list []triangle, centre []float64) {
	count := int(math.Log2(highest/lowest)*perOctave) + 3
	at := func(i int) float64 { return lowest * math.Exp2(float64(i)/perOctave) }
	frequency := func(k int) float64 { return float64(k) * rate / window }
	for i := range count - 2 {
		a, b, d := at(i), at(i+1), at(i+2)
		t, sum := triangle{first: -1}, 0.0
		for k := range window/2 + 1 {
			f := frequency(k)
			w := max(0, min((f-a)/(b-a), (d-f)/(d-b)))
			if w > 0 {
				if t.first < 0 {
					t.first = k
				}
				t.weights = append(t.weights, w)
				sum += w
			}
		}
		if t.first < 0 { // narrower than the window tells apart
			t.first, t.weights, sum = int(math.Round(b*window/rate)), []float64{1}, 1
		}
		for k := range t.weights {
			t.weights[k] /= sum
		}
		list, centre = append(list, t), append(centre, b)
	}
	return list, centre
}

// onsets fills flux, onset and low: what has become louder against the loudest neighbour two
// frames before, so that vibrato and swelling pads are none (Boeck and Widmer, "Maximum
// Filter Vibrato Suppression for Onset Detection", DAFx 2013).
func (f *features) onsets() {
	n, nb := len(f.bands), len(f.centre)
	f.flux = make([][]float64, n)
	all, low := make([]float64, n), make([]float64, n)
	for i := range f.flux {
		row := make([]float64, nb)
		if i >= 2 {
			now, was := f.bands[i], f.bands[i-2]
			for b := range row {
				row[b] = max(0, now[b]-max(was[max(b-1, 0)], was[b], was[min(b+1, nb-1)]))
				all[i] += row[b]
				if f.centre[b] < 160 {
					low[i] += row[b]
				}
			}
		}
		f.flux[i] = row
	}
	f.onset, f.low = standOut(all), standOut(low)
}

// standOut makes onsets of the strength of change: what stands out of the second around it,
// against the loudest of the seconds around, so that quiet parts have onsets too. 0..1.
func standOut(x []float64) []float64 {
	out := make([]float64, len(x))
	middle := medianFilter(x, second)
	for i := range x {
		out[i] = max(0, x[i]-middle[i])
	}
	around := smooth(maxFilter(out, 4*second), 2*second)
	least := 0.25 * percentile(out, 0.99)
	for i := range out {
		out[i] = min(out[i]/(least+float64(0.75*around[i])+1e-9), 1)
	}
	return out
}

// harmony fills chroma: how much of each pitch class sounds, from 60 Hz to 2 kHz, with the
// recording's own tuning.
func (f *features) harmony(y []float64, progress func(done float64)) {
	spectrum := newSpectrum(harmonic)
	step := hop * slow
	frames := 1 + len(y)/step
	const low, high = 60*harmonic/rate + 1, 2000 * harmonic / rate
	logs := make([][]float64, frames)
	total := make([]float64, high+1)
	for i := range logs {
		s := spectrum.at(y, i*step)
		row := make([]float64, high+1)
		for k := low; k <= high; k++ {
			row[k] = math.Log1p(5 * s[k])
			total[k] += row[k]
		}
		logs[i] = row
		if i%200 == 0 {
			progress(0.5 + 0.5*float64(i)/float64(frames))
		}
	}
	tuning := tuningOf(total, low, high)
	weights := make([][12]float64, high+1)
	for k := low; k <= high; k++ {
		m := 69 + float64(12*math.Log2(float64(k)*rate/harmonic/440)) - tuning
		for p := range 12 {
			d := math.Mod(m-float64(p)+6+120, 12) - 6
			weights[k][p] = math.Exp(-0.5 * float64(d/0.35*d/0.35))
		}
	}
	f.chroma = make([][]float64, frames)
	for i, row := range logs {
		c := make([]float64, 12)
		for k := low; k <= high; k++ {
			if row[k] > 0 {
				for p := range c {
					c[p] += float64(row[k] * weights[k][p])
				}
			}
		}
		f.chroma[i] = c
	}
}

// tuningOf returns how far the recording is tuned above 440 Hz, -0.5..0.5 semitones: the
// middle of where peaks of the summed spectrum lie between semitones.
func tuningOf(total []float64, low, high int) float64 {
	re, im := 0.0, 0.0
	for k := max(low, 2); k < high; k++ {
		a, b, c := total[k-1], total[k], total[k+1]
		if b <= a || b < c || float64(k)*rate/harmonic < 200 {
			continue
		}
		at := float64(k) + 0.5*(a-c)/(a-2*b+c)
		m := 69 + float64(12*math.Log2(at*rate/harmonic/440))
		s, co := math.Sincos(2 * math.Pi * m)
		weight := b - (a+c)/2
		re, im = re+float64(weight*co), im+float64(weight*s)
	}
	return math.Atan2(im, re) / (2 * math.Pi)
}

// frameAt returns the frame at a time, within the recording.
func (f *features) frameAt(seconds float64) int {
	return min(max(int(math.Round(seconds*frameRate)), 0), len(f.bands)-1)
}

// chromaAt returns the frame of harmony at a time, within the recording.
func (f *features) chromaAt(seconds float64) int {
	return min(max(int(math.Round(seconds*frameRate/slow)), 0), len(f.chroma)-1)
}
