package clock

import "math"

// noise is how late ticks arrive, learned from the ticks: a histogram of their lateness,
// used as a probability density. From coreLow bins below the origin to coreHigh bins
// above, all bins have the width bin; further out each is wider than the last by the
// square root of two. The origin is near the earliest ticks; edge is their lateness.
//
//	density │   ┌──┐
//	        │ ┌─┘  └──┐
//	        │ │       └────┐
//	        └─┴────────────┴─────────── lateness
//	        edge
//
// It has two records, one of the last beats and one of the last bars: the first follows
// noise that changes, the second knows steady noise well. A share of the density is
// spread over all possible lateness, so that no tick has a probability of zero.
type noise struct {
	bin                                  float64 // width of a core bin, ns
	edges                                [noiseBins + 1]float64
	dens                                 [noiseBins]float64 // per ns
	cum                                  [noiseBins + 1]float64
	slow                                 [noiseBins]float64 // ticks per bin in the last bars, weighted by age
	fast                                 [noiseBins]float64 // the same in the last beats
	seen                                 float64            // ticks learned from, at most slowTicks
	edge                                 float64            // mean of edgeNow: lateness is measured from here
	edgeLooks                            float64            // values averaged in edge
	spreadBefore                         float64            // spread when edgeLooks was last reduced
	newerBetter, share, slowSum, fastSum float64            // how often fast predicts better, 0..1; share of fast in the density; sums of the records
	plain                                float64            // the density is normal with this standard deviation, ns; 0: it is the histogram
	top                                  float64            // step of a lattice, ns; 0: no lattice; -1: normal
	edgeNow, mean, spread, sd            float64            // of the density, ns: edge, mean, width from 10 to 85 %, standard deviation
	broad                                [noiseBins]float64 // the share that is spread over all possible lateness
	pools                                [noiseBins]pooled  // scratch
}

const (
	coreLow   = 64
	coreHigh  = 128
	tailBins  = 36
	noiseBins = coreLow + coreHigh + 2*tailBins

	slowTicks  = 600  // memory of the slow record, in ticks
	fastTicks  = 40   // memory of the fast record, in ticks
	edgeTicks  = 1500 // memory of the edge, in ticks
	coreShare  = 1 - lateShare - soonShare
	fastLittle = 0.06 // share of the fast record in the density, usually
	fastMuch   = 0.5  // the same while the noise changes
	lateShare  = 0.06 // share of the density that is spread over all late ticks
	soonShare  = 0.02 // and over all early ones

	firstBin = 32e3  // width of a core bin at first, ns
	leastBin = 250.0 // smallest, ns
	mostBin  = 4e6   // largest, ns
)

// begin resets to a guess: late by a millisecond on average.
func (f *noise) begin() {
	*f = noise{}
	f.setBins(firstBin)
	for i := range f.slow {
		// An exponential of a millisecond, worth a quarter of a beat.
		mid := (f.edges[i] + f.edges[i+1]) / 2
		if f.edges[i] >= 0 {
			f.slow[i] = (f.edges[i+1] - f.edges[i]) * decay(mid/firstNoise)
		}
	}
	f.scaleTo(&f.slow, 3)
	f.fast = f.slow
	f.seen = 3
	f.updateDensity()
}

// setLattice sets the density for ticks that arrive only at moments every ns apart: uniform
// over one step, with edges softened by jitter, ns.
func (f *noise) setLattice(every, jitter float64) {
	*f = noise{}
	bin := firstBin / 4
	for every/bin > 96 {
		bin *= 2
	}
	f.setBins(bin)
	for i := range f.broad {
		f.broad[i] *= 0.3
	}
	soft := max(jitter, bin)
	const parts = 16
	for i := range parts {
		d := float64(soft * (float64(i)/(parts-1) - 0.5))
		f.addMass(&f.slow, d, every+d, 1)
	}
	f.fast = f.slow
	f.updateDensity()
	f.edge, f.top, f.seen = 0, every, slowTicks
}

// setNormal sets the density to a normal one around the origin, of standard deviation sd, ns.
func (f *noise) setNormal(sd float64) {
	sd = max(sd, 2*stampErr)
	if f.sd > 0.9*sd && f.sd < 1.1*sd && f.top < 0 {
		return
	}
	edge := f.edge
	*f = noise{top: -1, edge: edge, plain: sd}
	bin := leastBin
	for sd/bin > 16 {
		bin *= 2
	}
	f.setBins(bin)
	for i := range f.slow {
		lo, hi := f.edges[i], f.edges[i+1]
		z := (lo + hi) / 2 / sd
		f.slow[i] = (hi - lo) * decay(z*z/2)
	}
	f.scaleTo(&f.slow, 1)
	f.fast = f.slow
	f.updateDensity()
}

// scaleTo scales a record so that its sum is to.
func (f *noise) scaleTo(rec *[noiseBins]float64, to float64) {
	var sum float64
	for _, v := range rec {
		sum += v
	}
	for i := range rec {
		rec[i] *= to / sum
	}
}

// setBins sets the edges of the bins, for core bins of a width in ns.
func (f *noise) setBins(bin float64) {
	f.bin = bin
	for i := range coreLow + coreHigh + 1 {
		f.edges[tailBins+i] = float64(i-coreLow) * bin
	}
	up, down := coreHigh*bin, coreLow*bin
	for i := range tailBins {
		up *= math.Sqrt2
		down *= math.Sqrt2
		f.edges[tailBins+coreLow+coreHigh+i+1] = up
		f.edges[tailBins-i-1] = -down
	}
	var late, soon float64
	for i := range f.broad {
		lo, hi := f.edges[i], f.edges[i+1]
		near := max(min(math.Abs(lo), math.Abs(hi)), 4*bin)
		f.broad[i] = (hi - lo) / (near + (hi - lo))
		if lo >= 0 {
			late += f.broad[i]
		} else {
			soon += f.broad[i]
		}
	}
	for i := range f.broad {
		if f.edges[i] >= 0 {
			f.broad[i] *= lateShare / late
		} else {
			f.broad[i] *= soonShare / soon
		}
	}
}

// binOf returns the index of the bin for a lateness r, ns.
func (f *noise) binOf(r float64) int {
	i := int(r/f.bin+coreLow+1) - 1
	if i >= 0 && i < coreLow+coreHigh {
		return tailBins + i
	}
	if i < 0 {
		k := tailBins - 1
		for k > 0 && f.edges[k] > r {
			k--
		}
		return k
	}
	k := tailBins + coreLow + coreHigh
	for k < noiseBins-1 && f.edges[k+1] <= r {
		k++
	}
	return k
}

// addMass adds a weight to a record, evenly over a span of lateness, ns.
func (f *noise) addMass(rec *[noiseBins]float64, lo, hi, weight float64) {
	per := weight / (hi - lo)
	for i := f.binOf(lo); i < noiseBins; i++ {
		a, b := max(lo, f.edges[i]), min(hi, f.edges[i+1])
		if b > a {
			rec[i] += float64(per * (b - a))
		}
		if f.edges[i+1] >= hi {
			return
		}
	}
}

// learn adds a lateness r with a standard deviation of sd, both in ns. If it is not
// settled, only the fast record takes it.
func (f *noise) learn(r, sd float64, settled bool) {
	f.compareRecords(r)
	if settled {
		f.seen = min(f.seen+1, slowTicks)
		ageRecord(&f.slow, 1-1/f.seen)
	}
	ageRecord(&f.fast, 1-1/min(f.seen, fastTicks))
	reach := max(1.7*sd, stampErr)
	wide := max(reach, f.spread*min(0.12, 0.5/math.Sqrt(f.seen)))
	if settled {
		f.addMass(&f.slow, r-wide, r+wide, 1)
	}
	wide = max(reach, f.spread*0.12)
	f.addMass(&f.fast, r-wide, r+wide, 1)
	f.updateDensity()
	if f.spread > 2*f.spreadBefore || 2*f.spread < f.spreadBefore {
		f.edgeLooks, f.spreadBefore = min(f.edgeLooks, 60), f.spread // the noise changed
	}
	f.edgeLooks = min(f.edgeLooks+1, edgeTicks)
	f.edge += (f.edgeNow - f.edge) / f.edgeLooks
}

// compareRecords finds which record predicts lateness better. The fast one gets a large share of
// the density only while the noise differs from that of the last bars.
func (f *noise) compareRecords(r float64) {
	i := f.binOf(r)
	slow, fast := float64(f.slow[i]*f.fastSum), float64(f.fast[i]*f.slowSum)
	floor := float64(1e-3 * f.slowSum * f.fastSum)
	f.newerBetter += ((fast+floor)/(slow+fast+2*floor) - f.newerBetter) / 24
	f.share = fastLittle
	if f.newerBetter > 0.55 {
		f.share = fastMuch
	}
}

func ageRecord(rec *[noiseBins]float64, by float64) {
	for i := range rec {
		rec[i] *= by
	}
}

// fitBins chooses a width of bins for the spread, and an origin near the earliest ticks. It
// returns by how much the origin moved, ns.
func (f *noise) fitBins() (shift float64) {
	bin := f.bin
	if f.spread < 20*bin && bin > leastBin {
		bin /= 2
	} else if f.spread > 60*bin && bin < mostBin {
		bin *= 2
	}
	if f.edge < -8*f.bin || f.edge > 8*f.bin {
		shift = f.edge
	}
	if bin != f.bin || shift != 0 {
		f.rebin(bin, shift)
	}
	return shift
}

// binFor returns the width of core bins for noise that is wide ns wide.
func (f *noise) binFor(wide float64) float64 {
	bin := leastBin
	for bin < mostBin && wide > 40*bin {
		bin *= 2
	}
	return bin
}

// rebin moves both records into bins of another width, and the origin by shift, both in ns.
func (f *noise) rebin(bin, shift float64) {
	old := *f
	f.setBins(bin)
	f.edge -= shift
	for k, rec := range []*[noiseBins]float64{&f.slow, &f.fast} {
		was := [...]*[noiseBins]float64{&old.slow, &old.fast}[k]
		*rec = [noiseBins]float64{}
		for i, v := range was {
			if v > 0 {
				f.addMass(rec, old.edges[i]-shift, old.edges[i+1]-shift, v)
			}
		}
	}
	f.updateDensity()
}

// updateDensity makes the density from the records.
func (f *noise) updateDensity() {
	var slow, fast float64
	for i := range f.slow {
		slow += f.slow[i]
		fast += f.fast[i]
	}
	f.slowSum, f.fastSum = slow, fast
	a, b := (coreShare-f.share)/slow, f.share/fast
	for i := range f.dens {
		f.dens[i] = (float64(a*f.slow[i]) + float64(b*f.fast[i])) / (f.edges[i+1] - f.edges[i])
	}
	f.smooth()
	var at, mean, sq float64
	for i := range f.dens {
		w := f.edges[i+1] - f.edges[i]
		core := float64(f.dens[i] * w)
		p := core + f.broad[i]
		f.dens[i] = p / w
		f.cum[i] = at
		at += p
		mid := (f.edges[i] + f.edges[i+1]) / 2
		mean += float64(core * mid)
		sq += float64(core * mid * mid)
	}
	f.cum[noiseBins] = at
	f.mean = mean / coreShare
	f.sd = math.Sqrt(max(0, sq/coreShare-float64(f.mean*f.mean)))
	q10, q85 := f.quantile(0.10), f.quantile(0.85)
	f.spread = q85 - q10
	q5 := f.quantile(0.05)
	f.edgeNow = q5 - 2*(q10-q5)
}

// smooth makes the density rise to one peak and fall from there. Ticks stamped in whole
// milliseconds would give it many peaks, and the filter would find a tempo that fits
// those peaks.
func (f *noise) smooth() {
	top, most := 0, 0.0
	const reach = 4
	var sum float64
	for i := range noiseBins {
		sum += f.dens[i] * (f.edges[i+1] - f.edges[i])
		if i >= reach {
			sum -= f.dens[i-reach] * (f.edges[i-reach+1] - f.edges[i-reach])
		}
		if d := sum / (f.edges[i+1] - f.edges[max(0, i-reach+1)]); d > most {
			most, top = d, max(0, i-reach/2)
		}
	}
	f.pool(top, noiseBins, 1)
	f.pool(top, -1, -1)
}

// pool makes the density fall all the way from one bin to before another, by averaging
// it over stretches in which it rises (pool adjacent violators; Ayer and others, 1955;
// from memory). by is the direction, 1 or -1.
func (f *noise) pool(from, before, by int) {
	n := 0
	for i := from; i != before; i += by {
		lo, hi := f.edges[i], f.edges[i+1]
		p := pooled{f.dens[i] * (hi - lo), hi - lo, i}
		for n > 0 && p.mass*f.pools[n-1].width > f.pools[n-1].mass*p.width {
			n--
			p.mass += f.pools[n].mass
			p.width += f.pools[n].width
			p.from = f.pools[n].from
		}
		f.pools[n] = p
		n++
	}
	for k := range n {
		end := before
		if k+1 < n {
			end = f.pools[k+1].from
		}
		d := f.pools[k].mass / f.pools[k].width
		for i := f.pools[k].from; i != end; i += by {
			f.dens[i] = d
		}
	}
}

// pooled is a stretch of bins that have one density.
type pooled struct {
	mass, width float64
	from        int
}

// quantile returns the lateness, ns, below which a share p of ticks lies, without the
// part of the density that is spread over all lateness.
func (f *noise) quantile(p float64) float64 {
	var slow, fast float64
	for i := range f.slow {
		slow += f.slow[i]
		fast += f.fast[i]
	}
	a, b := (1-f.share/coreShare)/slow, f.share/coreShare/fast
	var at float64
	for i := range f.slow {
		v := float64(a*f.slow[i]) + float64(b*f.fast[i])
		if at+v >= p && v > 0 {
			return f.edges[i] + float64((f.edges[i+1]-f.edges[i])*(p-at)/v)
		}
		at += v
	}
	return f.edges[noiseBins]
}
