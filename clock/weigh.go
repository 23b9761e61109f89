package clock

import "math"

// bell is exp(-z²/2), as a table: the library's exp is not the same on every
// processor.
type bell [bellSteps*bellReach + 2]float64

const (
	bellSteps = 32
	bellReach = 5 // standard deviations
)

func newBell() *bell {
	b := &bell{}
	for i := range b {
		z := float64(i) / bellSteps
		b[i] = decay(z * z / 2)
	}
	return b
}

// at returns exp(-z²/2), and 0 beyond the table.
func (b *bell) at(z float64) float64 {
	z = max(z, -z) * bellSteps
	if !(z < bellSteps*bellReach) { // NaN too
		return 0
	}
	i := int(z)
	return b[i] + float64((b[i+1]-b[i])*(z-float64(i)))
}

// decay returns exp(-x) for x from 0 on, the same on every processor.
func decay(x float64) float64 {
	if !(x > 0) {
		return 1
	}
	if x > 200 {
		return 0
	}
	x /= 64
	t := 1 + float64(x*(1+float64(x/2*(1+float64(x/3*(1+x/4))))))
	for range 6 {
		t *= t
	}
	return 1 / t
}

// weigh multiplies the expected lateness of a tick, a normal density of a mean and a
// standard deviation, by the density of the noise. It returns the likelihood of the tick,
// and the mean (at) and variance (v) of its lateness after that. In ns.
func (f *noise) weigh(b *bell, mean, sd float64) (like, at, v float64) {
	if f.plain > 0 {
		return f.weighPlain(b, mean, sd)
	}
	lo, hi := mean-float64(bellReach*sd), mean+float64(bellReach*sd)
	var z0, z1, z2 float64
	stride := max(1, int(min(sd/3/f.bin, noiseBins)))
	for i := f.binOf(lo); i < noiseBins && f.edges[i] < hi; {
		j := i + 1
		d := f.dens[i]
		if i >= tailBins && i+stride <= tailBins+coreLow+coreHigh && stride > 1 {
			j = i + stride
			d = (f.cum[j] - f.cum[i]) / (f.edges[j] - f.edges[i])
		}
		from, to := max(lo, f.edges[i]), min(hi, f.edges[j])
		i = j
		if to <= from {
			continue
		}
		parts := 1 + int((to-from)/sd*2)
		dz := (to - from) / sd / float64(parts)
		z := (from-mean)/sd + dz/2
		for range parts {
			g := float64(b.at(z) * dz * d)
			z0 += g
			z1 += float64(g * z)
			z2 += float64(g * (float64(z*z) + dz*dz/12))
			z += dz
		}
	}
	if !(z0 > 1e-300) {
		return 1e-300, mean, sd * sd
	}
	m := z1 / z0
	return z0 * 0.3989422804014327, mean + float64(sd*m), sd * sd * max(z2/z0-float64(m*m), 1e-6)
}

// weighPlain is weigh for a normal density, in closed form.
func (f *noise) weighPlain(b *bell, mean, sd float64) (like, at, v float64) {
	s, r := sq(sd), sq(f.plain)
	both := math.Sqrt(s + r)
	near := b.at(mean/both) * 0.3989422804014327 / both
	floor := plainFloor / (max(mean, -mean) + both)
	// The part that may lie anywhere tells nothing: only the rest corrects the mean.
	share := near / (near + floor)
	return near + floor, mean - float64(share*mean*s/(s+r)), s - float64(share*s*s/(s+r))
}

const plainFloor = 0.004 // probability that a tick is late or early by another cause
