package merge

import (
	"slices"
	"strings"

	"tactus/engine"
	"tactus/shows/position"
	"tactus/shows/smf"
)

// pairs says which section of a song's file is which of the MIDI file.
type pairs struct {
	before []int  // by section of the MIDI file: the one of the song's file, or -1
	after  []int  // by section of the song's file: the one of the MIDI file, or -1
	moved  []bool // by section of the MIDI file: it is in another order
}

// identity pairs each of n sections with itself.
func identity(n int) *pairs {
	p := &pairs{moved: make([]bool, n)}
	for i := range n {
		p.before, p.after = append(p.before, i), append(p.after, i)
	}
	return p
}

// align pairs the sections of two songs: first by name without number, in order, as many
// as possible (the longest common subsequence; of several, the one with the most equal
// lengths and numbers); then by name, out of order; then by place: between the same
// neighbours, under a name that is new.
func align(old, now *engine.Song) *pairs {
	p := &pairs{before: slices.Repeat([]int{-1}, len(now.Sections)), after: slices.Repeat([]int{-1}, len(old.Sections)), moved: make([]bool, len(now.Sections))}
	for _, m := range inOrder(old, now) {
		p.pair(m[0], m[1])
	}
	anchors := p.anchors()
	for j := range now.Sections {
		for i := range old.Sections {
			if p.before[j] < 0 && p.after[i] < 0 && stem(old, i) == stem(now, j) {
				p.pair(i, j)
				p.moved[j] = true
			}
		}
	}
	from := [2]int{-1, -1}
	for _, to := range append(anchors, [2]int{len(old.Sections), len(now.Sections)}) {
		p.byPlace(old, now, from, to)
		from = to
	}
	return p
}

func (p *pairs) pair(old, now int) { p.after[old], p.before[now] = now, old }

// anchors lists the pairs in order.
func (p *pairs) anchors() (list [][2]int) {
	for i, j := range p.after {
		if j >= 0 {
			list = append(list, [2]int{i, j})
		}
	}
	return list
}

// byPlace pairs the sections left between two pairs of neighbours, where the second can
// be the first under another name: first those of one kind, such as refrain and chorus,
// then those of a kind that is not known, then a single one with a single one.
func (p *pairs) byPlace(old, now *engine.Song, from, to [2]int) {
	for _, like := range []func(a, b smf.Kind) bool{
		func(a, b smf.Kind) bool { return a == b && a != smf.Unknown },
		func(a, b smf.Kind) bool { return a == smf.Unknown || b == smf.Unknown },
		func(_, _ smf.Kind) bool {
			return countOpen(p.after[from[0]+1:to[0]]) == 1 && countOpen(p.before[from[1]+1:to[1]]) == 1
		},
	} {
		next := from[1] + 1
		for i := from[0] + 1; i < to[0]; i++ {
			for j := next; j < to[1] && p.after[i] < 0; j++ {
				if p.before[j] < 0 && renamed(old, i, now, j) && like(smf.KindOf(stem(old, i)), smf.KindOf(stem(now, j))) {
					p.pair(i, j)
					next = j + 1
				}
			}
		}
	}
}

// countOpen counts the sections without a pair.
func countOpen(pairs []int) (n int) {
	for _, i := range pairs {
		if i < 0 {
			n++
		}
	}
	return n
}

// renamed reports whether a section can be another under a new name: no section had the
// name before, and the two are equally long or the old name is gone.
func renamed(old *engine.Song, i int, now *engine.Song, j int) bool {
	return !has(old, stem(now, j)) && (bars(old, i) == bars(now, j) || !has(now, stem(old, i)))
}

func has(s *engine.Song, name string) bool {
	for i := range s.Sections {
		if stem(s, i) == name {
			return true
		}
	}
	return false
}

// inOrder returns the pairs of equal names, in order, that count most together.
func inOrder(old, now *engine.Song) (list [][2]int) {
	n, m := len(old.Sections), len(now.Sections)
	best := make([][]int, n+1) // of the sections from i and j on
	for i := range best {
		best[i] = make([]int, m+1)
	}
	for i := n - 1; i >= 0; i-- {
		for j := m - 1; j >= 0; j-- {
			best[i][j] = max(best[i+1][j], best[i][j+1])
			if w := likeness(old, i, now, j); w > 0 {
				best[i][j] = max(best[i][j], w+best[i+1][j+1])
			}
		}
	}
	for i, j := 0, 0; i < n && j < m; {
		w := likeness(old, i, now, j)
		switch {
		case w > 0 && best[i][j] == w+best[i+1][j+1]:
			list = append(list, [2]int{i, j})
			i, j = i+1, j+1
		case best[i][j] == best[i+1][j]:
			i++
		default:
			j++
		}
	}
	return list
}

// likeness weighs a pair of sections; 0: their names differ. A pair counts more than any
// number of equal lengths.
func likeness(old *engine.Song, i int, now *engine.Song, j int) int {
	if stem(old, i) != stem(now, j) {
		return 0
	}
	w := 1000
	if bars(old, i) == bars(now, j) {
		w += 2
	}
	if old.Sections[i].Name == now.Sections[j].Name {
		w++
	}
	return w
}

// stem is a section's name without its number, in lower case.
func stem(s *engine.Song, section int) string {
	return position.BaseName(strings.ToLower(s.Sections[section].Name))
}

func bars(s *engine.Song, section int) int64 { return s.SectionBars(int32(section)) }
