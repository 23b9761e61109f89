package draft

import (
	"cmp"
	"fmt"
	"maps"
	"math"
	"slices"

	"tactus/shows"
	"tactus/shows/position"
)

// later returns how many sections of the same name and energy come later in the song.
func (w *writer) later(i int) (n int) {
	for k := i + 1; k < len(w.parts); k++ {
		if w.repeats(i, k) {
			n++
		}
	}
	return n
}

// repeats reports whether a section is another's repeat: it has its name, its energy
// and a drafted light.
func (w *writer) repeats(i, k int) bool {
	a, b := &w.parts[i], &w.parts[k]
	return a.energy == b.energy && position.BaseName(a.name) == position.BaseName(b.name) && !b.spoken && !b.theirs && !b.breakdown
}

// mostHeld is how many trusses wait at most for a later repeat of a section.
const mostHeld = 2

// joined returns how many trusses have their full light in a section, and what there is
// to say of it. In a strong section that comes again, one waits for each repeat, so that
// every one tops the one before.
func (w *writer) joined(i int) (n int, why string) {
	n = len(w.trusses)
	if p := &w.parts[i]; p.energy < strong || p.spoken || p.breakdown || n < 2 {
		return n, ""
	}
	held := min(w.later(i), mostHeld, n-1)
	if held == 0 {
		return n, ""
	}
	return n - held, fmt.Sprintf("; %d of %d trusses wait for the next", held, n)
}

const (
	heldLevel  = 0.5  // of its level at least, for a truss that waits
	leastTruss = 0.06 // the level that no truss is taken below; a head counts as dark at shows.MostDark
	apartLevel = 0.3  // of its level, for the front of the stage if trusses are to be apart
)

// apart returns what trusses keep of their levels: less in the front half of the stage
// where the character has trusses apart.
func (w *writer) apart(trusses []truss) shares {
	keep := shares{}
	if w.character.Trusses != "apart" || len(trusses) == 0 {
		return keep
	}
	middle := (trusses[0].depth + trusses[len(trusses)-1].depth) / 2
	for i := range trusses {
		if t := &trusses[i]; t.depth < middle-0.1 {
			keep[t.name] = apartLevel
		}
	}
	return keep
}

// trussLevels returns the levels of trusses that differ from a look's: of those that
// wait, and of those that are to be apart; all scaled, so that the section is as bright
// as its energy is to be, and as far as measuring asks for.
func (w *writer) trussLevels(i int, p picture, joined int) (levels []shows.Level) {
	cue := w.lookCalled(p.look)
	if cue == nil {
		return nil
	}
	keep := w.apart(w.trusses)
	scale := w.balance.scale(w.parts[i].energy, p, keep)
	keep = w.holdBack(i, p, keep, scale, w.waiting(p, len(w.trusses)-joined))
	if dim, ok := w.forced.dims[i]; ok {
		scale *= dim
	}
	for k := range w.trusses {
		t := &w.trusses[k]
		level, ok := levelIn(cue, t)
		if !ok || level == 0 {
			continue
		}
		before, now := math.Round(100*level), math.Round(100*keep.level(t, level, scale))
		if now != before {
			levels = append(levels, shows.Level{On: t.name, Values: []shows.Word{{Key: "intensity", Text: fmt.Sprintf("%.0f %%", now)}}})
		}
	}
	return levels
}

// laterPasses drafts what a strong section looks like when it is played again unplanned:
// the next truss joins, then effects of the next rung, up to pass 3.
func (w *writer) laterPasses(i int, c Cue) {
	part := &w.parts[i]
	if part.energy < strong || part.spoken || part.breakdown || part.energy < w.peak && !w.comesTwice(i) {
		return
	}
	joined, _ := w.joined(i)
	last, own := c, part.look.effects
	for n, in := range []string{"again", "pass 3"} {
		next := c
		next.In, next.Build, next.Reason = in, "", "more when it is played again"
		more := joined + n + 1
		if over := more - len(w.trusses); over > 0 {
			wide, _ := w.fittingUpTo(i, union(own, w.climb.picture(step{part.step.rung, full}, part.name).effects), w.most(i)+1)
			next.Effects = wide
		}
		if !w.ours(part.theirs, next.spot()) {
			return
		}
		next.Set = w.trussLevels(i, part.look, min(more, len(w.trusses)))
		if slices.Equal(next.Effects, last.Effects) && slices.EqualFunc(next.Set, last.Set, sameLevel) {
			return
		}
		w.add(next, -1, picture{next.Look, next.Effects})
		last = next
	}
}

// holdBack returns what trusses keep of their levels if some wait: half, or as much as the
// section needs to be brighter than those of less energy.
func (w *writer) holdBack(i int, p picture, keep shares, scale float64, waiting []string) shares {
	least := 0.0
	for e, wanted := range w.balance.wanted {
		if e < w.parts[i].energy {
			least = max(least, wanted+leastStep/2)
		}
	}
	for level := heldLevel; level < 0.95; level += 0.1 {
		held := maps.Clone(keep)
		for _, name := range waiting {
			held[name] = held.of(name) * level
		}
		if w.balance.lightness(p, held, scale) >= least {
			return held
		}
	}
	return keep
}

// waiting names so many trusses that wait in a picture: those with the least light that
// is still seen to join, leastSeen of all.
func (w *writer) waiting(p picture, n int) (names []string) {
	if n <= 0 {
		return nil
	}
	list := slices.Clone(w.trusses)
	share := map[string]float64{}
	for i := range list {
		share[list[i].name] = w.balance.share(p, &list[i])
	}
	slices.SortStableFunc(list, func(a, b truss) int {
		x, y := share[a.name], share[b.name]
		if (x < leastSeen) != (y < leastSeen) {
			return cmp.Compare(y, x)
		}
		return cmp.Compare(x, y)
	})
	for _, t := range list[:min(n, len(list))] {
		names = append(names, t.name)
	}
	return names
}

// leastSeen is the share of a section's light that a truss must have to be seen to join.
const leastSeen = 0.12

// comesTwice reports whether the song has another section of the same name.
func (w *writer) comesTwice(i int) bool {
	return slices.ContainsFunc(w.parts, func(p part) bool {
		return p.name != w.parts[i].name && position.BaseName(p.name) == position.BaseName(w.parts[i].name)
	})
}

func sameLevel(a, b shows.Level) bool { return a.On == b.On && slices.Equal(a.Values, b.Values) }
