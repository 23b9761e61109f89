package clock

import "slices"

// lattice finds out whether ticks come only at moments that lie a fixed time
// apart: audio buffers, radio slots, coarse timers.
type lattice struct {
	every     float64 // time between those moments, ns; 0: none found
	jitter    float64 // spread of ticks about those moments, ns
	onShare   float64 // share of the last gaps, 0..1, that are whole steps
	waitTicks int     // ticks until the next search
}

// latticeNews is what a tick changed.
type latticeNews uint8

const (
	latticeSame latticeNews = iota
	latticeFound
	latticeLost
)

const (
	latticeTicks  = 120   // gaps searched
	latticeFew    = 10    // fewest ticks for a search
	restless      = 32    // a likeliest hypothesis younger than this, in ticks, counts as new
	leastLattice  = 2e6   // shortest step, ns
	mostLattice   = 400e6 // longest step, ns
	latticeJitter = 0.17  // largest jitter, as a part of the step
)

// tick checks the last gap, or looks for a lattice, and returns what changed.
func (g *lattice) tick(l *lock, at Time) latticeNews {
	if g.every > 0 {
		gap := float64(at - l.tickBack(1).at)
		miss := gap - float64(float64(roundToInt(gap/g.every))*g.every)
		on := 0.0
		if max(miss, -miss) < 1.5*latticeJitter*g.every {
			on = 1
		}
		g.onShare += float64((on - g.onShare) / 16)
		if s := &l.banks[stepBank]; g.onShare < 0.7 || s.latticeShare < 0.7 || s.newShare > 0.6 {
			g.every, g.waitTicks = 0, 48
			if g.onShare > 0.7 {
				g.waitTicks = 4 * latticeTicks
			}
			return latticeLost
		}
		return latticeSame
	}
	if g.waitTicks--; g.waitTicks > 0 || l.count < latticeFew {
		return latticeSame
	}
	g.waitTicks = 4
	if !g.find(l, at) {
		return latticeSame
	}
	g.onShare = 1
	return latticeFound
}

// find looks for a lattice among the last gaps.
func (g *lattice) find(l *lock, at Time) bool {
	var gaps, sorted [latticeTicks]float64
	n := min(l.count-1, latticeTicks)
	next := at
	for i := range n {
		before := l.tickBack(i + 1).at
		gaps[i] = float64(next - before)
		next = before
	}
	copy(sorted[:n], gaps[:n])
	slices.Sort(sorted[:n])
	every := 0.0
	for i := 1; i < n; i++ {
		if d := sorted[i] - sorted[i-1]; d > every {
			every = d
		}
	}
	if every < leastLattice {
		return false
	}
	for range 4 {
		var sum, steps float64
		for _, d := range gaps[:n] {
			k := float64(roundToInt(d / every))
			sum, steps = sum+d, steps+k
		}
		if steps == 0 {
			return false
		}
		every = sum / steps
	}
	if every < leastLattice || every > mostLattice {
		return false
	}
	return g.judge(gaps[:n], every, sorted[n/2])
}

// judge accepts a step, ns, as the lattice if nearly all gaps are whole numbers of steps:
// the usual number, and either one more or one less, as a constant tempo makes them.
func (g *lattice) judge(gaps []float64, every, median float64) bool {
	usual := roundToInt(median / every)
	off, above, below := 0, 0, 0
	var wide float64
	for _, d := range gaps {
		k := roundToInt(d / every)
		miss := d - float64(float64(k)*every)
		if miss = max(miss, -miss); miss > latticeJitter*every {
			off++
			continue
		}
		wide += miss
		if k > usual {
			above++
		} else if k < usual {
			below++
		}
	}
	if mean := total(gaps) / float64(len(gaps)); usual == 0 && median > 0.3*mean {
		return false // single ticks with a stall among them
	}
	odd := max(above, below)
	if off*8 > odd || min(above, below)*8 > odd || odd == 0 || !g.isEven(gaps, every, usual, odd) {
		return false
	}
	g.every, g.jitter = every, 2*wide/float64(len(gaps)-off)
	return true
}

// isEven tells whether long and short gaps alternate as evenly as a constant tempo makes
// them, and lie on the lattice on average.
func (g *lattice) isEven(gaps []float64, every float64, usual int64, odd int) bool {
	var least, most, at, miss, steps, total float64
	for _, d := range gaps {
		total += float64(roundToInt(d / every))
	}
	rate := total / float64(len(gaps))
	last, short, long, seen := -1, len(gaps), 0, 0
	for i, d := range gaps {
		k := roundToInt(d / every)
		at += float64(k) - rate
		least, most = min(least, at), max(most, at)
		if k == usual {
			continue
		}
		miss += d - float64(float64(k)*every)
		steps++
		if last >= 0 {
			short, long = min(short, i-last), max(long, i-last)
			seen++
		}
		last = i
	}
	miss /= steps
	if most-least > 2 || max(miss, -miss) > 0.05*every {
		return false
	}
	if odd*8 > len(gaps) || usual == 0 && seen >= 2 && long <= 2*short {
		return true // most ticks arrive together with others: only a lattice does that
	}
	// A few unusual gaps can also be ticks that were lost or arrived twice. They count
	// as a lattice only if the step is one that computers are known to use.
	return isComputerInterval(every, 0.002) && (seen < 2 || long <= short+short/3+2)
}

// isComputerInterval tells whether an interval, ns, is one that computers are known to use: audio
// buffers of 32 to 8192 samples, radio intervals, timers. within is the tolerance, as a
// part of the interval.
func isComputerInterval(every, within float64) bool {
	for _, rate := range [...]float64{44100, 48000, 88200, 96000} {
		for size := 32.0; size <= 8192; size *= 2 {
			if isNear(every, size/rate*1e9, within) {
				return true
			}
		}
	}
	for _, ms := range [...]float64{7.5, 8.75, 10, 11.25, 12.5, 15, 15.625, 16, 20, 30} {
		if isNear(every, ms*1e6, within) {
			return true
		}
	}
	return false
}

func isNear(a, b, within float64) bool { return a > (1-within)*b && a < (1+within)*b }

func total(x []float64) (sum float64) {
	for _, v := range x {
		sum += v
	}
	return sum
}
