package hearing

import (
	"math"
	"slices"
)

// barFeatures is how each bar sounds, with the song's mean taken out.
type barFeatures struct {
	sound   [][]float64 // log bands
	rhythm  [][]float64 // onsets in three bands, in eighths of the bar
	harmony [][]float64 // pitch classes in quarters of the bar, of unit length
}

// barParts is into how many parts the rhythm of a bar is divided.
const barParts = 8

func (f *features) barFeatures(lines []float64) *barFeatures {
	b := &barFeatures{}
	third := func(hz float64) int {
		switch {
		case hz < 160:
			return 0
		case hz < 2000:
			return 1
		}
		return 2
	}
	loudest := 1e-9
	for i := range len(lines) - 1 {
		from, long := lines[i], lines[i+1]-lines[i]
		b.sound = append(b.sound, f.bandsBetween(from, lines[i+1]))
		rhythm := make([]float64, 3*barParts)
		for p := range barParts {
			a, z := f.frameAt(from+long*float64(p)/barParts), f.frameAt(from+long*float64(p+1)/barParts)
			flux := average(f.flux[a:max(z, a+1)])
			for k, v := range flux {
				rhythm[3*p+third(f.centre[k])] += v
			}
		}
		loudest = max(loudest, slices.Max(rhythm))
		b.rhythm = append(b.rhythm, rhythm)
		var harmony []float64
		for p := range 4 {
			harmony = append(harmony, unit(f.chromaBetween(from+long*float64(p)/4, from+long*float64(p+1)/4))...)
		}
		b.harmony = append(b.harmony, harmony)
	}
	for _, r := range b.rhythm {
		for k, v := range r {
			r[k] = math.Sqrt(v / loudest)
		}
	}
	centred(b.sound)
	centred(b.rhythm)
	b.withoutKey()
	return b
}

// centred takes the mean of each column out, and divides all by their spread.
func centred(rows [][]float64) {
	m := average(rows)
	sum, n := 0.0, 0
	for _, r := range rows {
		for k := range r {
			r[k] -= m[k]
			sum += float64(r[k] * r[k])
			n++
		}
	}
	s := math.Sqrt(sum/float64(n)) + 1e-9
	for _, r := range rows {
		for k := range r {
			r[k] /= s
		}
	}
}

// withoutKey takes the song's mean harmony out of each quarter, so that chords are told
// apart rather than keys.
func (b *barFeatures) withoutKey() {
	m := make([]float64, 12)
	for _, r := range b.harmony {
		for k, v := range r {
			m[k%12] += v / float64(4*len(b.harmony))
		}
	}
	for i, r := range b.harmony {
		for k := range r {
			r[k] -= m[k%12]
		}
		b.harmony[i] = unit(r)
	}
}

// likeness returns how alike the bars are: by sound and rhythm, 0..1, and by harmony, -1..1.
func (b *barFeatures) likeness() (sounds, harmony [][]float64) {
	n := len(b.sound)
	far := func(rows [][]float64) [][]float64 {
		out, all := square2(n), make([]float64, 0, n*n)
		for i := range out {
			for j := range out {
				sum := 0.0
				for k, v := range rows[i] {
					sum += square(v - rows[j][k])
				}
				out[i][j] = sum / float64(len(rows[i]))
				all = append(all, out[i][j])
			}
		}
		middle := percentile(all, 0.5) + 1e-9
		for i := range out {
			for j := range out {
				out[i][j] = math.Exp(-out[i][j] / middle)
			}
		}
		return out
	}
	sound, rhythm := far(b.sound), far(b.rhythm)
	sounds, harmony = square2(n), square2(n)
	for i := range n {
		for j := range n {
			sounds[i][j] = 0.5*sound[i][j] + 0.5*rhythm[i][j]
			harmony[i][j] = dot(b.harmony[i], b.harmony[j])
		}
	}
	return sounds, harmony
}

func square2(n int) [][]float64 {
	out := make([][]float64, n)
	for i := range out {
		out[i] = make([]float64, n)
	}
	return out
}

// boundaries returns the bars at which sections begin, from 0, and the number of bars at the
// end: the division of the bars that novelty, repetition and usual lengths speak for most
// (Sargent, Bimbot and Vincent, ISMIR 2011, for lengths on bars; Foote, ICME 2000, for novelty).
func boundaries(sounds, harmony [][]float64) []int {
	n := len(sounds)
	gain := boundaryGain(sounds, harmony)
	best, from := make([]float64, n+1), make([]int, n+1)
	for j := 1; j <= n; j++ {
		best[j] = math.Inf(-1)
		for i := max(0, j-longestSection); i < j; i++ {
			v := best[i] + usualLength(j-i) - boundaryCost
			if i > 0 {
				v += gain[i]
			} else { // what comes before the first boundary may be of any length
				v = max(usualLength(j-i), -0.4) - boundaryCost
			}
			if v > best[j] {
				best[j], from[j] = v, i
			}
		}
	}
	cuts := []int{n}
	for cuts[len(cuts)-1] > 0 {
		cuts = append(cuts, from[cuts[len(cuts)-1]])
	}
	slices.Reverse(cuts)
	return cuts
}

const (
	boundaryCost   = 0.55
	longestSection = 32
)

// usualLength is the logarithm of how usual a length in bars is, less that of others, after
// the 912 songs of the Harmonix Set (Nieto and others, ISMIR 2019): 45 % have 8 bars, 14 %
// have 4, 13 % have 16, 5 % have 12; 80 % a multiple of four.
func usualLength(bars int) float64 {
	table := [...]float64{0, -3.5, -1.6, -2.2, -0.1, -1.5, -0.9, -1.5, 0.35, -1, -0.8, -1.3, 0}
	switch {
	case bars < len(table):
		return table[bars]
	case bars == 16:
		return 0
	case bars < 24:
		return -1.1 - float64(0.05*float64(bars-12))
	}
	return -3
}

// boundaryGain returns for each bar line how much speaks for a boundary: the bars before are
// alike, those after too, and the two are not; and lines of repeated harmony begin or end.
func boundaryGain(sounds, harmony [][]float64) []float64 {
	n := len(sounds)
	novelty, repetition := make([]float64, n), make([]float64, n)
	block := func(a, b, c, d int) float64 {
		sum := 0.0
		for i := a; i < b; i++ {
			for j := c; j < d; j++ {
				sum += sounds[i][j]
			}
		}
		return sum / float64((b-a)*(d-c))
	}
	for i := 1; i < n; i++ {
		for _, side := range []struct {
			bars   int
			weight float64
		}{{2, 0.4}, {4, 0.6}} {
			a, z := max(0, i-side.bars), min(n, i+side.bars)
			novelty[i] += float64(side.weight * (0.5*block(a, i, a, i) + 0.5*block(i, z, i, z) - block(a, i, i, z)))
		}
	}
	for i := 4; i < n-3; i++ {
		var edges []float64
		for lag := 4; lag < n; lag++ {
			if i+3+lag >= n {
				break
			}
			sum := 0.0
			for k := range 4 {
				sum += harmony[i+k][i+k+lag] - harmony[i-4+k][i-4+k+lag]
			}
			edges = append(edges, math.Abs(sum/4))
		}
		if len(edges) > 0 {
			repetition[i] = percentile(edges, 0.9)
		}
	}
	if n < 2 {
		return novelty
	}
	novelty, repetition = standardize(novelty[1:]), standardize(repetition[1:])
	out := make([]float64, n)
	for i := range novelty {
		out[i+1] = novelty[i] + float64(0.35*repetition[i])
	}
	return out
}

// grouping gives each section a group: sections with the same harmony, about as long and of
// about the same sound are of one group. cuts are the boundaries.
func (b *barFeatures) grouping(cuts []int, harmony [][]float64) []int {
	m := len(cuts) - 1
	alike := square2(m)
	for x := range m {
		for y := range m {
			alike[x][y] = b.alike(cuts[x], cuts[x+1], cuts[y], cuts[y+1], harmony)
		}
	}
	groups := make([][]int, m)
	for i := range groups {
		groups[i] = []int{i}
	}
	for len(groups) > 1 { // average linkage
		best, a, z := math.Inf(-1), 0, 0
		for i := range groups {
			for j := i + 1; j < len(groups); j++ {
				sum := 0.0
				for _, x := range groups[i] {
					for _, y := range groups[j] {
						sum += alike[x][y]
					}
				}
				if v := sum / float64(len(groups[i])*len(groups[j])); v > best {
					best, a, z = v, i, j
				}
			}
		}
		if best < sameGroup {
			break
		}
		groups[a] = append(groups[a], groups[z]...)
		groups = slices.Delete(groups, z, z+1)
	}
	out := make([]int, m)
	for g, members := range groups {
		for _, x := range members {
			out[x] = g
		}
	}
	return out
}

// sameGroup is how alike the sections of a group are on average.
const sameGroup = 0.4

func (b *barFeatures) alike(i, j, k, l int, harmony [][]float64) float64 {
	first, second := j-i, l-k
	w := min(first, second)
	best := math.Inf(-1)
	for o := range max(first, second) - w + 1 { // the shorter is slid along the longer
		sum := 0.0
		for q := range w {
			x, y := i+q, k+q
			if first > w {
				x += o
			}
			if second > w {
				y += o
			}
			sum += harmony[x][y]
		}
		best = max(best, sum/float64(w))
	}
	far := func(rows [][]float64) float64 {
		u, v := average(rows[i:j]), average(rows[k:l])
		sum := 0.0
		for c := range u {
			sum += square(u[c] - v[c])
		}
		return math.Sqrt(sum / float64(len(u)))
	}
	unlike, longer := 0.5*far(b.sound)+0.5*far(b.rhythm), math.Abs(math.Log2(float64(first)/float64(second)))
	return best - float64(0.15*unlike) - float64(0.2*longer)
}
