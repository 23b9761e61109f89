package loudness

import "math"

// Step is how far apart the values of a meter lie, in seconds.
const Step = 1.0 / stepsASecond

const stepsASecond = 10

// Silence is the loudness of no sound at all, in LUFS, where a value has to be a number.
const Silence = -120.0

// biquad is a filter of second order, in direct form I.
type biquad struct {
	b0, b1, b2, a1, a2 float64
	x1, x2, y1, y2     float64
}

func (f *biquad) next(x float64) float64 {
	y := float64(f.b0*x) + float64(f.b1*f.x1) + float64(f.b2*f.x2) - float64(f.a1*f.y1) - float64(f.a2*f.y2)
	f.x2, f.x1, f.y2, f.y1 = f.x1, x, f.y1, y
	return y
}

// shelf and highPass are the two parts of K-weighting (BS.1770-4, annex 1, tables 1 and 2).
// The standard gives coefficients for 48 kHz; those of other rates have the same analogue
// prototypes: 1,681.97 Hz with 4 dB and Q 0.7072, and 38.135 Hz with Q 0.5003, which give
// the standard's own coefficients at 48 kHz (common practice, no source).
func shelf(rate float64) biquad {
	const f0, gain, q = 1681.974450955533, 3.999843853973347, 0.7071752369554196
	k := math.Tan(math.Pi * f0 / rate)
	vh := math.Pow(10, gain/20)
	vb := math.Pow(vh, 0.4996667741545416)
	a0 := 1 + k/q + float64(k*k)
	return biquad{
		b0: (vh + float64(vb*k)/q + float64(k*k)) / a0, b1: 2 * (float64(k*k) - vh) / a0, b2: (vh - float64(vb*k)/q + float64(k*k)) / a0,
		a1: 2 * (float64(k*k) - 1) / a0, a2: (1 - k/q + float64(k*k)) / a0,
	}
}

func highPass(rate float64) biquad {
	const f0, q = 38.13547087602444, 0.5003270373238773
	k := math.Tan(math.Pi * f0 / rate)
	a0 := 1 + k/q + float64(k*k)
	return biquad{b0: 1, b1: -2, b2: 1, a1: 2 * (float64(k*k) - 1) / a0, a2: (1 - k/q + float64(k*k)) / a0}
}

// Meter measures blocks of samples.
type Meter struct {
	filters [][2]biquad
	weights []float64
	steps   []float64 // mean square of each step of 100 ms, summed over the channels
	sum     float64   // of this step
	step    int       // samples in it
	n, rate int       // samples in all, and in a second
}

// NewMeter returns a meter of 4,000 samples a second and more. Of five channels and more the last two are taken as surrounds
// (weight 1.41) and the fourth of six as low-frequency effects, which do not count
// (BS.1770-4, table 3).
func NewMeter(rate, channels int) *Meter {
	m := &Meter{rate: rate, filters: make([][2]biquad, channels), weights: make([]float64, channels)}
	for i := range m.filters {
		m.filters[i] = [2]biquad{shelf(float64(rate)), highPass(float64(rate))}
		m.weights[i] = 1
		if channels >= 5 && i >= channels-2 {
			m.weights[i] = 1.41
		}
		if channels == 6 && i == 3 {
			m.weights[i] = 0
		}
	}
	return m
}

// Write takes a block of samples, a slice for each channel.
func (m *Meter) Write(block [][]float32) {
	for i := range block[0] {
		for c := range block {
			f := &m.filters[c]
			v := f[1].next(f[0].next(float64(block[c][i])))
			m.sum += float64(m.weights[c] * float64(v*v))
		}
		m.n++
		m.step++
		if stepsASecond*m.n >= (len(m.steps)+1)*m.rate {
			m.steps = append(m.steps, m.sum/float64(m.step))
			m.sum, m.step = 0, 0
		}
	}
}

func lufs(meanSquare float64) float64 {
	if meanSquare <= 1e-12 {
		return Silence
	}
	return -0.691 + float64(10*math.Log10(meanSquare))
}

// Momentary returns the loudness of 400 ms up to the end of each step, from the fourth on.
func (m *Meter) Momentary() []float64 { return m.windows(4) }

// ShortTerm returns the loudness of 3 s up to the end of each step, from the thirtieth on.
func (m *Meter) ShortTerm() []float64 { return m.windows(30) }

func (m *Meter) windows(n int) (list []float64) {
	for i := n; i <= len(m.steps); i++ {
		list = append(list, lufs(mean(m.steps[i-n:i])))
	}
	return list
}

// Between returns the loudness from one time to another, in seconds, without gates.
func (m *Meter) Between(from, to float64) float64 {
	a, z := max(0, int(math.Round(from/Step))), min(len(m.steps), int(math.Round(to/Step)))
	if a >= z {
		return Silence
	}
	return lufs(mean(m.steps[a:z]))
}

// Integrated returns the loudness of all through both gates: blocks of 400 ms under -70
// LUFS do not count, nor those more than 10 LU under the rest (BS.1770-4, annex 1).
func (m *Meter) Integrated() float64 {
	var blocks []float64
	for i := 4; i <= len(m.steps); i++ {
		if b := mean(m.steps[i-4 : i]); lufs(b) > -70 {
			blocks = append(blocks, b)
		}
	}
	if len(blocks) == 0 {
		return Silence
	}
	gate, sum, n := lufs(mean(blocks))-10, 0.0, 0
	for _, b := range blocks {
		if lufs(b) > gate {
			sum, n = sum+b, n+1
		}
	}
	return lufs(sum / float64(n))
}

func mean(list []float64) float64 {
	sum := 0.0
	for _, v := range list {
		sum += v
	}
	return sum / float64(len(list))
}
