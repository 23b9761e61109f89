package compose

import (
	"cmp"
	"fmt"
	"slices"

	"tactus/engine"
	"tactus/shows"
	"tactus/shows/plan"
)

// rungFor returns the ladder's rung for an energy.
func rungFor(l []shows.Rung, energy int) *shows.Rung {
	best := &l[0]
	for i := range l {
		if l[i].Energy <= energy {
			best = &l[i]
		}
	}
	return best
}

// ladder returns the rungs of the show's ladder; without one, its looks by how much light
// they give the stage.
func (w *remedies) ladder() []shows.Rung {
	show := w.view.Show
	if show.Ladder != nil {
		return show.Ladder.Rungs
	}
	p := show.Program
	type lit struct {
		name  string
		light float64
	}
	var looks []lit
	for i := range p.Looks {
		if c := &p.Looks[i]; !shows.IsDark(p, c) && !slices.Contains([]int32{p.WalkIn, p.WalkOut, p.Talk, p.Pad}, int32(i)) {
			looks = append(looks, lit{c.Name, lightOn(p, c)})
		}
	}
	slices.SortStableFunc(looks, func(a, b lit) int { return cmp.Compare(a.light, b.light) })
	var rungs []shows.Rung
	for i, l := range looks {
		rungs = append(rungs, shows.Rung{Energy: 10 * i / len(looks), Look: l.name, Own: true})
	}
	return rungs
}

// lightOn sums the highest levels that a look gives the heads of the stage.
func lightOn(p *engine.Program, c *engine.Cue) (sum float64) {
	level := make([]float64, len(p.Heads))
	shows.HighestLevels(p, c, level)
	for _, h := range shows.StageHeads(p) {
		sum += level[h]
	}
	return sum
}

// rungEdits gives a section a rung's look and effects.
func (w *remedies) rungEdits(section int, r *shows.Rung) []Edit {
	s := w.in(section)[0]
	effects := Value{}
	if !r.Own {
		effects = namesValue(r.Effects)
	}
	return []Edit{w.set(s, "look", Text(r.Look)), w.set(s, "effects", effects)}
}

// otherLooks gives a section another look of the ladder: those of the nearest energies first.
func (w *remedies) otherLooks(section int) {
	if section < 0 {
		return
	}
	l := w.ladder()
	energy := int(w.before.Sections[section].Energy)
	rungs := slices.Clone(l)
	slices.SortStableFunc(rungs, func(a, b shows.Rung) int { return cmp.Compare(distance(a.Energy, energy), distance(b.Energy, energy)) })
	now, _ := w.up(w.in(section)[0].at)
	for i := range rungs {
		if rungs[i].Look != now {
			w.add(fmt.Sprintf("Give %s the look %s", w.name(section), rungs[i].Look), w.rungEdits(section, &rungs[i])...)
		}
	}
}

func distance(a, b int) int { return max(a-b, b-a) }

// looksOfEnergies gives sections the looks that the ladder has for their energies: those
// that the finding is about, alone and together, then all; then other looks for each.
func (w *remedies) looksOfEnergies() {
	l := w.ladder()
	if len(l) == 0 {
		return
	}
	about := w.about()
	ofEnergy := func(words string, sections ...int) {
		var edits []Edit
		for _, i := range sections {
			edits = append(edits, w.rungEdits(i, rungFor(l, int(w.before.Sections[i].Energy)))...)
		}
		w.add(words, edits...)
	}
	for _, i := range about {
		ofEnergy(fmt.Sprintf("Give %s the look of the ladder for its energy: %s", w.name(i), rungFor(l, int(w.before.Sections[i].Energy)).Look), i)
	}
	if len(about) > 1 && len(about) < len(w.before.Sections) {
		var names []string
		for _, i := range about {
			names = append(names, w.name(i))
		}
		ofEnergy(fmt.Sprintf("Give %s the looks of the ladder for their energies", and(names)), about...)
	}
	var all []int
	for i := range w.before.Sections {
		if !w.before.Sections[i].Spoken {
			all = append(all, i)
		}
	}
	ofEnergy("Give every section the look of the ladder for its energy", all...)
	for _, i := range about[:min(2, len(about))] {
		w.add("Take the levels of its own away in "+w.name(i), w.set(w.in(i)[0], "set", Value{}))
	}
	var bare []Edit
	for _, i := range all {
		bare = append(bare, w.set(w.in(i)[0], "set", Value{}))
		bare = append(bare, w.rungEdits(i, rungFor(l, int(w.before.Sections[i].Energy)))...)
	}
	w.add("Give every section the look of the ladder for its energy, without levels of its own", bare...)
	for _, i := range about[:min(2, len(about))] {
		w.otherLooks(i)
	}
}

// about lists the sections that the finding is about.
func (w *remedies) about() (list []int) {
	put := func(i int32) {
		if !slices.Contains(list, int(i)) {
			list = append(list, int(i))
		}
	}
	switch w.finding.Kind {
	case plan.Inversion:
		for _, c := range w.before.Contradictions() {
			if c.Cause.Start == w.finding.Beat {
				put(c.Cause.Index)
				for _, o := range c.Others {
					put(o.Index)
				}
			}
		}
	case plan.DimPeak:
		if peak, brighter := w.before.DimPeak(); peak != nil {
			put(peak.Index)
			put(brighter.Index)
		}
	default:
		for i := range w.before.Sections {
			if !w.before.Sections[i].Spoken {
				put(int32(i))
			}
		}
	}
	return list
}

// scaled gives a section more or less light: each level of its look, dimmed where it is
// stronger than a section of more energy, else brighter.
func (w *remedies) scaled(section int) {
	s := &w.before.Sections[section]
	less := slices.ContainsFunc(w.about(), func(i int) bool {
		o := &w.before.Sections[i]
		return o.Energy > s.Energy && (o.Strength < s.Strength || o.Brightness < s.Brightness)
	})
	shares := []int{130, 170}
	if less {
		shares = []int{80, 60, 40}
	}
	spot := w.in(section)[0]
	look, _ := w.up(spot.at)
	f := newFiles(w.view.Sources, new(shows.Loader))
	groups, err := f.keys(looksFile, place{"looks", look, "set"})
	if err != nil {
		return
	}
	groups = slices.DeleteFunc(groups, func(g string) bool {
		return slices.ContainsFunc(w.view.Show.Kept, func(k shows.KeptGroup) bool { return k.Name == g })
	})
	for _, share := range shares {
		var edits []Edit
		for _, g := range groups {
			n, err := f.node(looksFile, place{"looks", look, "set", g, "intensity"})
			var level int
			if err != nil || n == nil {
				continue
			}
			if _, err := fmt.Sscanf(n.Value, "%d %%", &level); err != nil {
				continue
			}
			edits = append(edits, w.level(spot, g, "intensity", fmt.Sprintf("%d %%", min(100, max(1, level*share/100)))))
		}
		words := "Dim %s to %d %% of its light"
		if share > 100 {
			words = "Give %s %d %% of its light"
		}
		w.add(fmt.Sprintf(words, w.name(section), share), edits...)
	}
}
