package draft

import (
	"cmp"
	"math"
	"slices"

	"tactus/clock"
	"tactus/engine"
	"tactus/fixtures"
	"tactus/shows"
)

// motion is an effect as a character sees it.
type motion struct {
	name  string
	off   float64 // how far it is from the character's tendencies
	cycle float64 // in bars
}

// motions replaces the ladder's effects by those of the show that suit the character:
// for each thing that effects move, the better half of them, the slower ones for the
// weaker rungs, and of equal ones the best for the strongest. Without tendencies it is empty, and the ladder's own stay.
func (s *song) motions(l *shows.Ladder, k shows.Character) map[string]string {
	instead := map[string]string{}
	if k.Pace == "" && k.Paths == "" && len(k.Effects) == 0 {
		return instead
	}
	byMoves := map[string][]string{} // the ladder's effects, from the weakest rung
	for _, r := range l.Rungs {
		for _, name := range r.Effects {
			if m := s.moves(name); !slices.Contains(byMoves[m], name) {
				byMoves[m] = append(byMoves[m], name)
			}
		}
	}
	for moves, names := range byMoves {
		list := s.suited(moves, k)
		if len(list) == 0 {
			continue
		}
		list = list[:min(len(list), max(2, (len(names)+1)/2))]
		slices.SortStableFunc(list, func(a, b motion) int { return cmp.Or(cmp.Compare(b.cycle, a.cycle), cmp.Compare(b.off, a.off)) })
		for i, name := range names {
			instead[name] = list[i*len(list)/len(names)].name
		}
	}
	return instead
}

// suited lists the show's effects on the stage that move something, those that suit
// the character best first.
func (s *song) suited(moves string, k shows.Character) (list []motion) {
	stage := shows.StageHeads(s.show.Program)
	target := map[string]float64{"slow": 4, "steady": 2, "fast": 1}[k.Pace] // bars
	for i := range s.show.Program.Effects {
		e := &s.show.Program.Effects[i]
		if s.moves(e.Name) != moves || slices.ContainsFunc(e.Heads, func(h int32) bool { return !slices.Contains(stage, h) }) {
			continue
		}
		m := motion{name: e.Name, cycle: s.cycle(e)}
		m.off = 1 - float64(len(e.Heads))/float64(len(stage)) // all of the stage rather than a part
		if target > 0 {
			m.off += math.Abs(math.Log2(m.cycle / target))
		}
		if k.Pace == "slow" && jumps(e) {
			m.off++
		}
		switch symmetric := s.symmetry(e); k.Paths {
		case "symmetric":
			m.off += 2 * (1 - symmetric)
		case "wandering":
			m.off += 2 * symmetric
		}
		if n := slices.Index(k.Effects, e.Name); n >= 0 {
			m.off -= float64(100 - n)
		}
		list = append(list, m)
	}
	slices.SortStableFunc(list, func(a, b motion) int { return cmp.Compare(a.off, b.off) })
	return list
}

// jumps reports whether an effect's wave goes up or down at once.
func jumps(e *engine.Effect) bool {
	switch e.Wave.Kind {
	case engine.Square, engine.Ramp, engine.Fall, engine.Decay, engine.Steps, engine.Noise:
		return true
	}
	return false
}

// symmetry returns the share of an effect's heads that move together with the head on
// the other side of the stage, 0..1. It is 1 if there are no such pairs, and 0 for noise.
func (s *song) symmetry(e *engine.Effect) float64 {
	p := s.show.Program
	switch {
	case len(e.Heads) == 0:
		return 1
	case e.Wave.Kind == engine.Noise:
		return 0
	}
	low, high := math.Inf(1), math.Inf(-1)
	for _, h := range e.Heads {
		low, high = min(low, p.Heads[h].At.X), max(high, p.Heads[h].At.X)
	}
	pairs, same := 0, 0
	for i, h := range e.Heads {
		k := s.mirrored(e, i, low+high)
		if k < 0 || p.Heads[e.Heads[k]].At.X-p.Heads[h].At.X < 0.1 {
			continue // the pair's left head counts, those in the middle do not
		}
		pairs++
		if apart := int32(e.Offsets[i] - e.Offsets[k]); math.Abs(float64(apart)) <= 0.02*float64(clock.OneTurn) {
			same++
		}
	}
	if pairs == 0 {
		return 1
	}
	return float64(same) / float64(pairs)
}

// mirrored returns the index of the head opposite head i of an effect, or -1.
func (s *song) mirrored(e *engine.Effect, i int, sum float64) int {
	at := s.show.Program.Heads[e.Heads[i]].At
	return slices.IndexFunc(e.Heads, func(h int32) bool {
		o := s.show.Program.Heads[h].At
		return math.Abs(o.X-(sum-at.X)) < 0.3 && math.Abs(o.Y-at.Y) < 0.5 && math.Abs(o.Z-at.Z) < 1
	})
}

// truss is a group of the stage's heads at one depth.
type truss struct {
	name  string
	heads []int32
	depth float64 // mean Y in metres; the audience's side is the lowest
}

// trussesOf lists groups of the rig that share no head, each at one depth and at one
// level in every look of the ladder, from the front to the back.
func trussesOf(show *shows.Show) (list []truss) {
	p := show.Program
	stage := shows.StageHeads(p)
	var groups []truss
	for _, g := range show.Groups {
		low, high, sum := math.Inf(1), math.Inf(-1), 0.0
		for _, h := range g.Heads {
			y := p.Heads[h].At.Y
			low, high, sum = min(low, y), max(high, y), sum+y
		}
		inside := !slices.ContainsFunc(g.Heads, func(h int32) bool { return !slices.Contains(stage, h) })
		if t := (truss{g.Name, g.Heads, sum / float64(len(g.Heads))}); len(g.Heads) > 0 && inside && high-low <= 1 && uniform(show, &t) {
			groups = append(groups, t)
		}
	}
	slices.SortStableFunc(groups, func(a, b truss) int { return len(b.heads) - len(a.heads) })
	taken := map[int32]bool{}
	for _, g := range groups {
		if slices.ContainsFunc(g.heads, func(h int32) bool { return taken[h] }) {
			continue
		}
		for _, h := range g.heads {
			taken[h] = true
		}
		list = append(list, g)
	}
	slices.SortStableFunc(list, func(a, b truss) int { return cmp.Compare(a.depth, b.depth) })
	return list
}

// levelIn returns the intensity that a look sets on all heads of a truss, 0 if it sets
// none; ok is false if they differ.
func levelIn(look *engine.Cue, t *truss) (level float64, ok bool) {
	for i, h := range t.heads {
		own := 0.
		for k := range look.Parts {
			if part := &look.Parts[k]; part.Sets(fixtures.Intensity) && slices.Contains(part.Heads, h) {
				own = part.Values[fixtures.Intensity]
			}
		}
		if i > 0 && own != level {
			return 0, false
		}
		level = own
	}
	return level, true
}

// uniform reports whether every look of the ladder sets one level on all of a truss.
func uniform(show *shows.Show, t *truss) bool {
	return !slices.ContainsFunc(show.Program.Looks, func(c engine.Cue) bool {
		used := slices.ContainsFunc(show.Ladder.Rungs, func(r shows.Rung) bool { return r.Look == c.Name })
		_, ok := levelIn(&c, t)
		return used && !ok
	})
}
