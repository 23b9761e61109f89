package clock

import "math"

// noise is how late ticks come, learned from the ticks: a density over lateness,
// in steps. Between coreLow and coreHigh bins of the origin the steps are all
// bin wide; beyond, each is wider than the last by the root of two. The origin
// lies near the earliest ticks; edge is where they begin.
//
//	density │   ┌──┐
//	        │ ┌─┘  └──┐
//	        │ │       └────┐
//	        └─┴────────────┴─────────── lateness
//	        edge
//
// Two records are kept, of the last beats and of the last bars, so that noise
// which changes is followed and noise which stays is known well. A share of the
// density is spread over all lateness that can be, so that no tick is impossible.
type noise struct {
	bin                                  float64 // width of a core bin, ns
	edges                                [noiseBins + 1]float64
	dens                                 [noiseBins]float64 // per ns
	cum                                  [noiseBins + 1]float64
	slow                                 [noiseBins]float64 // what was seen, weighed by age
	fast                                 [noiseBins]float64
	seen                                 float64 // ticks learned from, at most slowTicks
	edge                                 float64 // edgeNow averaged: this counts as no lateness
	edgeLooks                            float64 // looks averaged in edge
	spreadBefore                         float64 // spread when edgeLooks was last reduced
	newerBetter, share, slowSum, fastSum float64
	plain                                float64 // a normal density of this standard deviation, or 0
	top                                  float64 // of a lattice: its step
	edgeNow, mean, spread, sd            float64 // of the density: edge, mean, 10 to 85 %, standard deviation
	broad                                [noiseBins]float64
	pools                                [noiseBins]pooled // scratch
}

const (
	coreLow   = 64
	coreHigh  = 128
	tailBins  = 36
	noiseBins = coreLow + coreHigh + 2*tailBins

	slowTicks  = 600
	fastTicks  = 40
	edgeTicks  = 1500
	coreShare  = 1 - lateShare - soonShare
	fastLittle = 0.06 // of the newer record, as a rule
	fastMuch   = 0.5  // while the noise changes
	lateShare  = 0.06 // of what may be anywhere late
	soonShare  = 0.02 // and early

	firstBin = 32e3 // ns
	leastBin = 250.0
	mostBin  = 4e6
)

// begin resets to a guess: late by a millisecond on average.
func (f *noise) begin() {
	*f = noise{}
	f.scale(firstBin)
	for i := range f.slow {
		// An exponential of a millisecond, worth a quarter of a beat.
		mid := (f.edges[i] + f.edges[i+1]) / 2
		if f.edges[i] >= 0 {
			f.slow[i] = (f.edges[i+1] - f.edges[i]) * decay(mid/firstNoise)
		}
	}
	f.level(&f.slow, 3)
	f.fast = f.slow
	f.seen = 3
	f.sum()
}

// lattice sets the density to that of ticks which come only at moments every apart,
// with some jitter: uniform over a step. Both in ns.
func (f *noise) lattice(every, jitter float64) {
	*f = noise{}
	bin := firstBin / 4
	for every/bin > 96 {
		bin *= 2
	}
	f.scale(bin)
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
	f.sum()
	f.edge, f.top, f.seen = 0, every, slowTicks
}

// normal sets the density to a normal one around the origin.
func (f *noise) normal(sd float64) {
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
	f.scale(bin)
	for i := range f.slow {
		lo, hi := f.edges[i], f.edges[i+1]
		z := (lo + hi) / 2 / sd
		f.slow[i] = (hi - lo) * decay(z*z/2)
	}
	f.level(&f.slow, 1)
	f.fast = f.slow
	f.sum()
}

// level scales a record to a sum.
func (f *noise) level(rec *[noiseBins]float64, to float64) {
	var sum float64
	for _, v := range rec {
		sum += v
	}
	for i := range rec {
		rec[i] *= to / sum
	}
}

// scale sets the edges of the bins.
func (f *noise) scale(bin float64) {
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

// find returns the bin that a lateness lies in.
func (f *noise) find(r float64) int {
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
	for i := f.find(lo); i < noiseBins; i++ {
		a, b := max(lo, f.edges[i]), min(hi, f.edges[i+1])
		if b > a {
			rec[i] += float64(per * (b - a))
		}
		if f.edges[i+1] >= hi {
			return
		}
	}
}

// learn adds a lateness, ns, known to a standard deviation of sd.
func (f *noise) learn(r, sd float64, settled bool) {
	f.compare(r)
	if settled {
		f.seen = min(f.seen+1, slowTicks)
		age(&f.slow, 1-1/f.seen)
	}
	age(&f.fast, 1-1/min(f.seen, fastTicks))
	reach := max(1.7*sd, stampErr)
	wide := max(reach, f.spread*min(0.12, 0.5/math.Sqrt(f.seen)))
	if settled {
		f.addMass(&f.slow, r-wide, r+wide, 1)
	}
	wide = max(reach, f.spread*0.12)
	f.addMass(&f.fast, r-wide, r+wide, 1)
	f.sum()
	if f.spread > 2*f.spreadBefore || 2*f.spread < f.spreadBefore {
		f.edgeLooks, f.spreadBefore = min(f.edgeLooks, 60), f.spread // the noise changed
	}
	f.edgeLooks = min(f.edgeLooks+1, edgeTicks)
	f.edge += (f.edgeNow - f.edge) / f.edgeLooks
}

// compare finds which record predicts lateness better: the recent one gets a large
// share only while the noise differs from what it was.
func (f *noise) compare(r float64) {
	i := f.find(r)
	slow, fast := float64(f.slow[i]*f.fastSum), float64(f.fast[i]*f.slowSum)
	floor := float64(1e-3 * f.slowSum * f.fastSum)
	f.newerBetter += ((fast+floor)/(slow+fast+2*floor) - f.newerBetter) / 24
	f.share = fastLittle
	if f.newerBetter > 0.55 {
		f.share = fastMuch
	}
}

func age(rec *[noiseBins]float64, by float64) {
	for i := range rec {
		rec[i] *= by
	}
}

// fit chooses bins that suit the spread, and an origin near the earliest ticks. It
// returns by how much the origin moved.
func (f *noise) fit() (shift float64) {
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

// binFor returns the width of bins for noise of a width, both in ns.
func (f *noise) binFor(wide float64) float64 {
	bin := leastBin
	for bin < mostBin && wide > 40*bin {
		bin *= 2
	}
	return bin
}

// rebin moves what was seen into other bins, lateness shift becoming 0.
func (f *noise) rebin(bin, shift float64) {
	old := *f
	f.scale(bin)
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
	f.sum()
}

// sum makes the density from the records.
func (f *noise) sum() {
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

// smooth makes the density rise to one peak and fall from there. Ticks on whole
// milliseconds give it a comb of peaks; a filter would settle on a tempo that fits
// the comb.
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

// pool averages the density from one bin on, before another, over stretches in
// which it would rise (pool adjacent violators; Ayer and others, 1955; from memory).
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

// quantile returns the lateness, ns, that a share of ticks stays below, without the
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
