package draft

import (
	"fmt"
	"slices"

	"tactus/shows"
	"tactus/shows/position"
)

// picture is the light of a section.
type picture struct {
	look    string
	effects []string
}

func (p picture) same(q picture) bool { return p.look == q.look && sameSet(p.effects, q.effects) }

// How the effects of a rung are varied, from calm to busy.
const (
	calmer = iota - 1 // those of the rung below
	own
	busier // those of the rung above
	full   // its own and those of the rung above; at the top, of the rung below
	numVariants
)

// step is a variant of a rung.
type step struct {
	rung    int // of climb.rungs
	variant int
}

// climb is a ladder as one song uses it. Rungs of one energy count as one.
type climb struct {
	rungs [][]shows.Rung
	at    map[int]step   // by energy
	turn  map[string]int // by rung and name: which of several rungs of an energy
	taken []int          // how many names a rung has

	instead map[string]string // effects of the character, by the ladder's
}

func newClimb(l *shows.Ladder, s *song) *climb {
	c := &climb{at: map[int]step{}, turn: map[string]int{}}
	for _, r := range l.Rungs {
		if n := len(c.rungs); n > 0 && c.rungs[n-1][0].Energy == r.Energy {
			c.rungs[n-1] = append(c.rungs[n-1], r)
			continue
		}
		c.rungs = append(c.rungs, []shows.Rung{r})
	}
	c.taken = make([]int, len(c.rungs))
	shared := map[int]int{}
	for _, e := range energies(s) {
		r := c.rungOf(e)
		if top := len(c.rungs) - 1; r == top && e < s.peak && top > 0 {
			r-- // the top is for the peak
		}
		c.at[e] = step{r, min(own+shared[r], full)}
		shared[r]++
	}
	return c
}

// energies lists the song's, each once, from the lowest.
func energies(s *song) (list []int) {
	for i := range s.parts {
		list = append(list, s.parts[i].energy)
	}
	slices.Sort(list)
	return slices.Compact(list)
}

// rungOf is the highest rung of an energy or less, or the lowest.
func (c *climb) rungOf(energy int) int {
	r := 0
	for i := range c.rungs {
		if c.rungs[i][0].Energy <= energy {
			r = i
		}
	}
	return r
}

// rung picks one of the rungs of an energy: sections of one name have the same, those
// of another name the next.
func (c *climb) rung(r int, name string) shows.Rung {
	key := fmt.Sprint(r, " ", position.BaseName(name))
	n, ok := c.turn[key]
	if !ok {
		n = c.taken[r]
		c.turn[key] = n
		c.taken[r]++
	}
	return c.rungs[r][n%len(c.rungs[r])]
}

// picture returns the light of a step in a section of a name.
func (c *climb) picture(s step, name string) picture {
	r := c.rung(s.rung, name)
	p := picture{look: r.Look, effects: r.Effects}
	below, above := max(0, s.rung-1), min(len(c.rungs)-1, s.rung+1)
	switch s.variant {
	case calmer:
		p.effects = c.others(below, r.Effects)
	case busier:
		p.effects = c.others(above, r.Effects)
	case full:
		other := above
		if above == s.rung {
			other = below
		}
		p.effects = union(r.Effects, c.others(other, r.Effects))
	}
	p.effects = c.suited(p.effects)
	return p
}

// suited returns the character's effects for the ladder's. Where two of the ladder's are
// the same for the character, another of its effects makes up for it.
func (c *climb) suited(names []string) (list []string) {
	for _, name := range names {
		if other, ok := c.instead[name]; ok {
			name = other
		}
		list = union(list, []string{name})
	}
	for _, r := range slices.Backward(c.rungs) {
		for _, name := range r[0].Effects {
			if other, ok := c.instead[name]; ok && len(list) < len(names) {
				list = union(list, []string{other})
			}
		}
	}
	return list
}

// others returns the first effects of a rung that differ from some.
func (c *climb) others(r int, than []string) []string {
	for _, rung := range c.rungs[r] {
		if !sameSet(rung.Effects, than) {
			return rung.Effects
		}
	}
	return c.rungs[r][0].Effects
}

// sameRung lists the other steps of a step's rung, the busier ones first.
func (c *climb) sameRung(s step) (list []step) {
	for _, v := range []int{own, busier, full, calmer} {
		if v != s.variant {
			list = append(list, step{s.rung, v})
		}
	}
	return list
}

// near lists the steps around one, the nearest first, upwards or downwards.
func (c *climb) near(s step, up bool, top int) (list []step) {
	for r, v := s.rung, s.variant; ; {
		if up {
			v++
		} else {
			v--
		}
		if v < calmer || v >= numVariants {
			if up {
				r, v = r+1, calmer
			} else {
				r, v = r-1, full
			}
		}
		if r < 0 || r > top {
			return list
		}
		list = append(list, step{r, v})
	}
}
