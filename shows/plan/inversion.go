package plan

import (
	"fmt"
	"slices"
	"strings"

	"tactus/shows/limits"
)

// Contradiction is a section whose light contradicts that of others: it is stronger
// than sections of a higher energy, or weaker than sections of a lower one.
type Contradiction struct {
	Cause  *Section
	Others []*Section // all of a higher energy, or all of a lower one; in order of the song
}

// Weak reports whether the cause has too little light; else it has too much.
func (c *Contradiction) Weak() bool { return c.Cause.Energy > c.Others[0].Energy }

// pair is a section that is stronger than one of a higher energy.
type pair struct{ low, high *Section }

// Contradictions lists the pairs of sections in which the one of less energy is
// stronger, by their cause: the section that is part of the most pairs comes first,
// with all of these, and none of them is listed again.
func (s *Song) Contradictions() (list []Contradiction) {
	var pairs []pair
	apart, over := s.judgedBy.Value(limits.EnergiesApart), s.judgedBy.Value(limits.StrongerBy)
	for i := range s.Sections {
		for k := range s.Sections {
			low, high := &s.Sections[i], &s.Sections[k]
			if float64(high.Energy-low.Energy) >= apart && low.Strength-high.Strength >= over {
				pairs = append(pairs, pair{low, high})
			}
		}
	}
	for len(pairs) > 0 {
		c := causeOf(s, pairs)
		list = append(list, c)
		pairs = slices.DeleteFunc(pairs, func(p pair) bool {
			return c.Weak() && p.high == c.Cause || !c.Weak() && p.low == c.Cause
		})
	}
	return list
}

// contradict reports whether one of the contradictions is between two sections.
func (s *Song) contradict(a, b *Section) bool {
	return slices.ContainsFunc(s.Contradictions(), func(c Contradiction) bool {
		return c.Cause == a && slices.Contains(c.Others, b) || c.Cause == b && slices.Contains(c.Others, a)
	})
}

// causeOf returns the section that is part of the most pairs. Of equals it is the
// first one with too much light.
func causeOf(s *Song, pairs []pair) (most Contradiction) {
	for _, weak := range []bool{false, true} {
		for i := range s.Sections {
			c := Contradiction{Cause: &s.Sections[i]}
			for _, p := range pairs {
				switch {
				case weak && p.high == c.Cause:
					c.Others = append(c.Others, p.low)
				case !weak && p.low == c.Cause:
					c.Others = append(c.Others, p.high)
				}
			}
			if len(c.Others) > len(most.Others) {
				most = c
			}
		}
	}
	return most
}

// inversions finds sections that are stronger than sections of a higher energy, each
// cause once.
func (j *judge) inversions() {
	for _, c := range j.song.Contradictions() {
		words, suggestion := c.text()
		j.find(Inversion, Warning, c.Cause.Start, c.Cause.Start+c.Cause.Length, words, suggestion)
		f := &j.song.Findings[len(j.song.Findings)-1]
		for _, s := range c.Others {
			f.others = append(f.others, s.Index)
		}
	}
}

// text says what contradicts what, and what would put it right.
func (c *Contradiction) text() (reason, suggestion string) {
	if len(c.Others) == 1 {
		low, high := c.Cause, c.Others[0]
		return fmt.Sprintf("%s, energy %d, is %s than %s, energy %d (strength %.1f and %.1f)",
				low.Name, low.Energy, stronger(low, high), high.Name, high.Energy, low.Strength, high.Strength),
			fmt.Sprintf("give %s more, or %s less", high.Name, low.Name)
	}
	var others []string
	for _, s := range c.Others {
		others = append(others, fmt.Sprintf("%s (energy %d, strength %.1f)", s.Name, s.Energy, s.Strength))
	}
	is, amount := "stronger", "less"
	if c.Weak() {
		is, amount = "weaker", "more"
	}
	return fmt.Sprintf("%s, energy %d, strength %.1f, is %s than %s", c.Cause.Name, c.Cause.Energy, c.Cause.Strength, is, strings.Join(others, ", ")),
		fmt.Sprintf("give %s %s", c.Cause.Name, amount)
}
