package smf

import (
	"fmt"
	"math"
	"strings"

	"tactus/clock"
	"tactus/shows/language"
)

// propose returns sections for a song without markers, from its notes; none where they
// show no parts. Parts of equal music get equal names, and each the energy that its
// notes have beside the others.
func (r *reader) propose(end clock.Beat) (list []found) {
	if n := r.barsUntil(end); n < minStructure || n > maxStructure || len(r.notes) == 0 {
		return nil
	}
	bars := r.barsOf(end)
	s := structureOf(bars)
	if len(s.label) < 2 || len(s.label) > maxSections {
		return nil
	}
	energies := s.energies()
	for i, label := range s.label {
		name := "part " + letters(label-min(1, s.ahead))
		if i == 0 && s.ahead > 0 {
			name = "pickup"
		}
		list = append(list, found{at: bars[s.cuts[i]].start, Mark: Mark{Key: name, Reason: s.reasonFor(i), energy: energies[i]}})
	}
	return list
}

// Proposed says which sections are proposals, and why each: a line for all and one for
// each; none where markers ask for the sections.
func (m *Import) Proposed() (lines []string) {
	for i := range m.Marks {
		if mark := &m.Marks[i]; mark.Reason != "" {
			if len(lines) == 0 {
				lines = append(lines, fmt.Sprintf("no markers: %s are proposals from the notes; listen, name them, and put the energies right", language.Count(len(m.Marks), "section")))
			}
			c := &m.Song.Sections[i]
			lines = append(lines, fmt.Sprintf("bar %d: %s, %s, energy %d: %s",
				m.Song.BarsUntil(0, c.Start)+1, c.Name, language.Count(m.Song.SectionBars(int32(i)), "bar"), c.Energy, mark.Reason))
		}
	}
	return lines
}

// letters counts a, b, … z, aa, ab, …
func letters(n int) string {
	if n < 26 {
		return string(rune('a' + n))
	}
	return letters(n/26-1) + letters(n%26)
}

// played is how a part is played, beside the others of its song.
type played struct{ density, velocity, parts float64 }

// measurePart measures a part: notes a quarter, mean velocity, tracks and channels that play
// in a bar on average.
func (s *structure) measurePart(i int) (p played) {
	var notes, loud, quarters, parts float64
	for k := s.cuts[i]; k < s.cuts[i+1]; k++ {
		b := &s.bars[k]
		notes, loud, quarters = notes+b.notes, loud+b.loud, quarters+b.length.Quarters()
		for _, n := range b.parts {
			if n > 0 {
				parts++
			}
		}
	}
	return played{notes / max(0.25, quarters), loud / max(1, notes), parts / float64(s.cuts[i+1]-s.cuts[i])}
}

// energies guesses the energy of each part, 1..9: how dense, how loud and by how many it
// is played, in the range that the song has. A song that hardly changes stays around 5.
// The shares are common practice, no source.
func (s *structure) energies() []int8 {
	var strength []float64
	low, high := math.Inf(1), math.Inf(-1)
	for i := range s.label {
		p := s.measurePart(i)
		x := float64(0.4*math.Log2(1+p.density)/4) + float64(0.3*p.velocity/127) + float64(0.3*math.Log2(1+p.parts)/3)
		strength = append(strength, x)
		if i > 0 || s.ahead == 0 {
			low, high = min(low, x), max(high, x)
		}
	}
	list := make([]int8, len(strength))
	for i, x := range strength {
		e := 5.5 + float64(7*(x-(low+high)/2)/max(high-low, 0.2))
		list[i] = int8(min(9, max(1, math.Round(e-0.01))))
	}
	if s.ahead > 0 {
		list[0] = 1
	}
	return list
}

// reasonFor says why a part begins where it does, and what its energy comes from.
func (s *structure) reasonFor(i int) string {
	if i == 0 && s.ahead > 0 {
		return "before the first downbeat with notes"
	}
	p := s.measurePart(i)
	now := fmt.Sprintf("%.1f notes a quarter, velocity %.0f, %.0f playing", p.density, p.velocity, p.parts)
	for j := range s.label[:i] {
		if s.label[j] == s.label[i] {
			return fmt.Sprintf("like bar %d on; %s", s.cuts[j]+1, now)
		}
	}
	if i == 0 || i == 1 && s.ahead > 0 {
		return "the beginning; " + now
	}
	return s.describeChange(i) + "; " + now
}

// describeChange says what is different from the part before.
func (s *structure) describeChange(i int) string {
	a, b := s.measurePart(i-1), s.measurePart(i)
	var words []string
	say := func(more bool, factor float64, up, down string) {
		switch {
		case factor < 1.2 && factor > 1/1.2:
		case more:
			words = append(words, up)
		default:
			words = append(words, down)
		}
	}
	say(b.parts > a.parts, (b.parts+0.1)/(a.parts+0.1), "more instruments", "fewer instruments")
	say(b.density > a.density, (b.density+0.1)/(a.density+0.1), "denser", "sparser")
	say(b.velocity > a.velocity, (b.velocity+1)/(a.velocity+1), "louder", "softer")
	if len(words) == 0 {
		return "other notes than before"
	}
	return "new: " + strings.Join(words, ", ")
}
