package smf

import (
	"math"
	"slices"
)

// The songs that sections are proposed for, in bars: shorter ones have none, and longer
// ones are no songs.
const (
	minStructure = 8
	maxStructure = maxBars
	shortestMean = 6 // bars in a part on average
	leastWhole   = 6 // bars of a part that is looked for in others
)

// Limits of the structure; tuned by the songs of structure_test.go.
const (
	alikeParts  = 0.78 // likeness from which two parts are the same
	alikeWhole  = 0.9  // likeness from which a part is in another
	otherKey    = 0.05 // taken off the likeness of parts in different keys
	leastPrice  = 0.02 // least novelty of a boundary
	repeatShare = 0.2  // weight of a repeat that ends in the novelty of a bar
)

// structure is the bars of a song, cut into parts.
type structure struct {
	bars  []bar
	cuts  []int // the first bar of each part, and the end
	label []int // by part: parts of equal music have equal labels, from 0 in order
	ahead int   // bars before the music begins, a part of their own
}

// forBoundaries compares bars to find where parts begin.
func forBoundaries() weights {
	return weights{bass: 0.15, pitch: 0.25, onset: 0.15, drums: 0.1, parts: 0.2, level: 0.1}
}

// forLabels compares bars to find equal parts: melody and harmony count more there, and
// loudness does not.
func forLabels() weights { return weights{bass: 0.25, pitch: 0.35, onset: 0.2, drums: 0.1, parts: 0.1} }

// structureOf cuts bars into parts where the music changes: the novelty of the
// self-similarity of bars (J. Foote, Automatic audio segmentation using a measure of
// audio novelty, ICME 2000; from memory), with parts of four bars preferred.
func structureOf(bars []bar) *structure {
	s := &structure{bars: bars}
	s.ahead = s.leadBars()
	s.chooseCuts(s.novelty())
	s.splitRepeats()
	s.labelParts()
	return s
}

// leadBars returns the bars before the song: empty ones, and one that has only notes of its
// second half, which lead to the next.
func (s *structure) leadBars() int {
	n := 0
	for n < len(s.bars) && s.bars[n].notes == 0 {
		n++
	}
	if n < len(s.bars) && 2*s.bars[n].first >= s.bars[n].length {
		n++
	}
	if n+minStructure > len(s.bars) {
		return 0
	}
	return n
}

// novelty is how much the music changes at each bar, 0..1: how much more the bars before
// and those after are like one another than like those across.
func (s *structure) novelty() []float64 {
	n := len(s.bars)
	total, w := make([]float64, n), forBoundaries()
	for _, half := range []int{4, 8} {
		for t := 1; t < n; t++ {
			before, after := min(half, t), min(half, n-t)
			left := s.meanLikeness(&w, t-before, t, t-before, t)
			right := s.meanLikeness(&w, t, t+after, t, t+after)
			across := s.meanLikeness(&w, t-before, t, t, t+after)
			edge := float64(min(before, after)) / float64(half) // a bar alone is like itself
			total[t] += float64(edge * max(0, (left+right)/2-across) / 2)
		}
	}
	for _, period := range []int{4, 8} {
		for t := 2 * period; t < n; t++ {
			total[t] += float64(repeatShare * max(0, s.repeats(&w, t-period, t, period)-s.repeats(&w, t, min(n, t+period), period)))
		}
	}
	return total
}

// repeats is how much bars are like those a period before.
func (s *structure) repeats(w *weights, from, to, period int) float64 {
	sum := 0.0
	for i := from; i < to; i++ {
		sum += w.likeness(&s.bars[i], &s.bars[i-period], 0)
	}
	return sum / float64(to-from)
}

// meanLikeness is the mean likeness of bars a..b and bars c..d.
func (s *structure) meanLikeness(w *weights, a, b, c, d int) float64 {
	sum := 0.0
	for i := a; i < b; i++ {
		for j := c; j < d; j++ {
			sum += w.likeness(&s.bars[i], &s.bars[j], 0)
		}
	}
	return sum / float64((b-a)*(d-c))
}

// chooseCuts chooses the first bars of the parts: those whose novelties sum to most, less a
// price for each part and for lengths that are not whole phrases of four bars.
func (s *structure) chooseCuts(novelty []float64) {
	price := partPrice(novelty[s.ahead:])
	for range 40 { // the price of the last is a thousand times the first
		s.chooseCutsAt(novelty, price)
		if (len(s.cuts)-1-s.firstPart())*shortestMean <= len(s.bars) {
			return
		}
		price *= 1.2
	}
}

// chooseCutsAt chooses them for a price of a part, in units of novelty.
func (s *structure) chooseCutsAt(novelty []float64, price float64) {
	n := len(s.bars)
	best, from := make([]float64, n+1), make([]int, n+1)
	for to := s.ahead + 1; to <= n; to++ {
		best[to] = math.Inf(-1)
		for start := s.ahead; start < to; start++ {
			gain := best[start] - float64(price*oddLength(to-start))
			if start > s.ahead {
				gain += novelty[start] - price
			}
			if gain > best[to] {
				best[to], from[to] = gain, start
			}
		}
	}
	s.cuts = []int{n}
	for at := n; at > s.ahead; at = from[at] {
		s.cuts = append(s.cuts, from[at])
	}
	if s.ahead > 0 {
		s.cuts = append(s.cuts, 0)
	}
	slices.Reverse(s.cuts)
}

// partPrice is the least novelty of a boundary: a share of that of the strong ones in the
// song.
func partPrice(novelty []float64) float64 {
	var peaks []float64
	for t := 1; t+1 < len(novelty); t++ {
		if novelty[t] >= novelty[t-1] && novelty[t] > novelty[t+1] {
			peaks = append(peaks, novelty[t])
		}
	}
	if len(peaks) == 0 {
		return leastPrice
	}
	slices.Sort(peaks)
	all := slices.Sorted(slices.Values(novelty))
	return max(leastPrice, 0.33*peaks[len(peaks)*9/10], 1.5*all[len(all)/2])
}

// oddLength is the price of a part's length, in prices of a part.
func oddLength(bars int) float64 {
	switch {
	case bars == 2:
		return 1
	case bars < 4:
		return 3
	case bars%4 == 0:
		return 0
	case bars%2 == 0:
		return 0.3
	}
	return 0.6
}

// splitRepeats cuts a part that begins or ends with the whole of another part: a chorus that
// comes twice, or after bars that lead to it.
func (s *structure) splitRepeats() {
	w := forLabels()
	for range 3 { // a part that was cut may be in another
		for i := s.firstPart(); i+1 < len(s.cuts) && len(s.cuts) <= maxSections; {
			if at := s.otherIn(&w, i); at > 0 {
				s.cuts = slices.Insert(s.cuts, i+1, at)
			} else {
				i++
			}
		}
	}
}

// firstPart is the part with the first downbeat.
func (s *structure) firstPart() int { return min(1, s.ahead) }

// otherIn returns the bar at which a part is cut in two, one of which is another part; 0:
// none.
func (s *structure) otherIn(w *weights, i int) int {
	from, to := s.cuts[i], s.cuts[i+1]
	for j := s.firstPart(); j+1 < len(s.cuts); j++ {
		other, n := s.cuts[j], s.cuts[j+1]-s.cuts[j]
		if j == i || n < leastWhole || to-from-n < 4 {
			continue
		}
		if s.partLikeness(w, to-n, n, other, n) >= alikeWhole {
			return to - n
		}
		if s.partLikeness(w, from, n, other, n) >= alikeWhole {
			return from + n
		}
	}
	return 0
}

// partLikeness compares two parts bar by bar, in any key; likeness up to 1. Parts of very different lengths are
// not alike.
func (s *structure) partLikeness(w *weights, a, na, b, nb int) float64 {
	short, long := min(na, nb), max(na, nb)
	if 2*short < long {
		return 0
	}
	best := 0.0
	for key := range 12 {
		sum := 0.0
		for i := range short {
			sum += w.likeness(&s.bars[a+i], &s.bars[b+i], key)
		}
		sum /= float64(short)
		if key > 0 {
			sum -= otherKey
		}
		best = max(best, sum)
	}
	return best
}

// labelParts gives equal labels to parts of equal music.
func (s *structure) labelParts() {
	w := forLabels()
	next := 0
	for i := 0; i+1 < len(s.cuts); i++ {
		best, label := alikeParts, next
		for j := range s.label {
			like := s.partLikeness(&w, s.cuts[j], s.cuts[j+1]-s.cuts[j], s.cuts[i], s.cuts[i+1]-s.cuts[i])
			if like >= best && j >= s.firstPart() && i >= s.firstPart() {
				best, label = like, s.label[j]
			}
		}
		if label == next {
			next++
		}
		s.label = append(s.label, label)
	}
}
