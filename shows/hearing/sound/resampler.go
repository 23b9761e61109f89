package sound

import "math"

// AnalysisRate is the rate that a Resampler gives, in samples a second.
const AnalysisRate = 22050

// Resampler makes one channel of 22,050 samples a second of blocks of any rate: the mean of
// the channels through a low pass of 10 kHz, a sinc under a Kaiser window with 64 zero
// crossings. The first sample out lies where the first sample in lies.
type Resampler struct {
	rate    int
	cut     float64     // of the low pass, of the rate in
	half    int         // of the kernel, in samples in
	table   []float64   // the kernel from its middle, kernelSteps steps a sample
	in      []float64   // what is still wanted
	first   int64       // index of in[0] among all samples
	n       int64       // index of the next sample out
	kernels [][]float64 // by where a sample out lies between samples in; none for odd rates
	samples []float32
}

const (
	zeroCrossings = 32 // on each side
	kernelSteps   = 256
	kaiserBeta    = 9 // 90 dB down outside
	// mostKernels is how many kernels are kept: 147 are wanted for 48 kHz and 441 for 8 kHz.
	mostKernels = 441
)

// NewResampler returns a resampler of blocks of a rate.
func NewResampler(rate int) *Resampler {
	r := &Resampler{rate: rate}
	r.cut = min(0.5, 10_000/float64(rate))
	r.half = int(math.Ceil(zeroCrossings / (2 * r.cut)))
	r.table = make([]float64, (r.half+1)*kernelSteps+2)
	for i := range r.table {
		x := float64(i) / kernelSteps
		if x > float64(r.half) {
			break
		}
		r.table[i] = 2 * r.cut * sinc(2*r.cut*x) * kaiser(x/float64(r.half))
	}
	r.in, r.first = make([]float64, r.half), int64(-r.half)
	if count := AnalysisRate / divisor(rate, AnalysisRate); count <= mostKernels {
		for i := range count {
			r.kernels = append(r.kernels, r.kernel(make([]float64, 2*r.half), float64(i)/float64(count)))
		}
	}
	return r
}

// divisor is the greatest common one (Euclid).
func divisor(a, b int) int {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}

// kernel fills the weights of the samples in around a sample out, which lies a part of a sample
// behind the middle one.
func (r *Resampler) kernel(weights []float64, part float64) []float64 {
	for j := range weights {
		d := math.Abs(float64(j+1-r.half)-part) * kernelSteps
		i := int(d)
		f := d - float64(i)
		weights[j] = float64(r.table[i]*(1-f)) + float64(r.table[i+1]*f)
	}
	return weights
}

func sinc(x float64) float64 {
	if x == 0 {
		return 1
	}
	return math.Sin(math.Pi*x) / (math.Pi * x)
}

// kaiser is the window of Kaiser and Schafer (1980) at x in -1..1.
func kaiser(x float64) float64 {
	return bessel0(kaiserBeta*math.Sqrt(max(0, 1-float64(x*x)))) / bessel0(kaiserBeta)
}

// bessel0 is the modified Bessel function of order 0, by its series (Abramowitz and Stegun,
// 9.6.12).
func bessel0(x float64) float64 {
	sum, term := 1.0, 1.0
	for k := 1.0; term > 1e-17*sum; k++ {
		term *= float64(x*x) / (4 * k * k)
		sum += term
	}
	return sum
}

// Write takes a block of samples, a slice for each channel.
func (r *Resampler) Write(block [][]float32) {
	for i := range block[0] {
		sum := 0.0
		for _, c := range block {
			sum += float64(c[i])
		}
		r.in = append(r.in, sum/float64(len(block)))
	}
	r.make(r.first + int64(len(r.in)) - int64(r.half) - 1)
}

// Samples ends the recording and returns all that came out.
func (r *Resampler) Samples() []float32 {
	last := r.first + int64(len(r.in))
	r.in = append(r.in, make([]float64, r.half+2)...)
	r.make(last)
	return r.samples
}

// make makes the samples that lie before a sample in.
func (r *Resampler) make(until int64) {
	var own []float64
	for {
		middle, part := r.n*int64(r.rate)/AnalysisRate, r.n*int64(r.rate)%AnalysisRate
		if middle >= until {
			break
		}
		var weights []float64
		if r.kernels != nil {
			weights = r.kernels[part*int64(len(r.kernels))/AnalysisRate]
		} else {
			if own == nil {
				own = make([]float64, 2*r.half)
			}
			weights = r.kernel(own, float64(part)/AnalysisRate)
		}
		from, sum := int(middle-r.first)+1-r.half, 0.0
		in := r.in[from : from+len(weights)]
		for k, w := range weights {
			sum += float64(in[k] * w)
		}
		r.samples = append(r.samples, float32(sum))
		r.n++
	}
	keep := r.n*int64(r.rate)/AnalysisRate - int64(r.half) - r.first
	if keep > int64(len(r.in))/2 && keep > 0 {
		r.in = append(r.in[:0], r.in[min(keep, int64(len(r.in))):]...)
		r.first += keep
	}
}
