package draft

import (
	"fmt"
	"slices"

	"tactus/shows"
	"tactus/shows/position"
)

// writer drafts a song from its first section to its last.
type writer struct {
	*song
	ladder   *shows.Ladder
	climb    *climb
	declined map[spot]bool
	earlier  map[spot]bool // places of an earlier draft's lines that nobody has changed

	character shows.Character
	inferred  string   // why it is that
	quickest  []motion // effects on levels, the best for a fast character first
	balance   *balance
	trusses   []truss
	breathAt  int // the section that has a breath before it, or -1

	forced adjustments // what was found by measuring
	cues   []Cue
	rows   []Row
	last   picture       // the light at the end of the section before
	kept   []shows.Level // of kept groups, as drafted last
	only   []int         // the sections that are wanted, by index; nil: all
}

func newWriter(s *song, t *text, forced adjustments) *writer {
	w := &writer{song: s, ladder: s.show.Ladder, climb: newClimb(s.show.Ladder, s), declined: t.declined(), earlier: t.drafted(), forced: forced}
	w.character, w.inferred = s.character()
	w.climb.instead = s.motions(w.ladder, w.character)
	if w.character.Pace == "fast" {
		w.quickest = s.suited("intensity", w.character)
	}
	w.balance = newBalance(s, w.climb, w.apart)
	w.trusses = w.balance.trusses
	w.breathAt = w.breathSection()
	return w
}

func (w *writer) write() {
	for i := range w.parts {
		p := &w.parts[i]
		p.step = w.climb.at[p.energy]
		w.breath(i)
		if p.theirs {
			w.rows = append(w.rows, Row{At: p.name, Energy: p.energy, Look: p.look.look, Effects: p.look.effects, Reason: "yours", Theirs: true})
			w.last = p.look
			w.laterPasses(i, Cue{At: p.name, Look: p.look.look, Effects: p.look.effects, Fade: w.fadeInto(i)})
			w.changes(i)
			continue
		}
		w.section(i)
		w.changes(i)
	}
	w.ending()
}

// add drafts a cue, unless its line was commented out.
func (w *writer) add(c Cue, energy int, p picture) {
	if w.declined[c.spot()] {
		return
	}
	c.Own = c.Look == "" && len(c.Effects) == 0 || c.Look != "" && slices.Equal(c.Effects, w.ownEffects(c.Look))
	w.cues = append(w.cues, c)
	w.rows = append(w.rows, Row{At: c.At, In: c.In, Energy: energy, Look: p.look, Effects: p.effects, Fade: c.Fade, Reason: c.Reason})
}

func (w *writer) ownEffects(look string) []string {
	for i := range w.show.Program.Looks {
		if c := &w.show.Program.Looks[i]; c.Name == look {
			return w.names(c.Effects)
		}
	}
	return nil
}

// section drafts a section's first cue.
func (w *writer) section(i int) {
	part := &w.parts[i]
	p, set, why := w.choose(i)
	var swaps []string
	p.effects, swaps = w.fitting(i, p.effects)
	part.look, w.last = p, p
	if len(set) == 0 && !part.sung && !part.spoken {
		set = w.ladder.Instrumental
	}
	levels := w.changed(over(w.ladder.Begin, set))
	if w.only != nil && !slices.Contains(w.only, i) {
		w.kept = nil // what is up before a section that is wanted is not known
	}
	joined, held := w.joined(i)
	build, grows := w.buildOf(i, p)
	c := Cue{
		At: part.name, Look: p.look, Effects: p.effects, Fade: w.fadeInto(i), Build: build,
		Set: over(levels, w.trussLevels(i, p, joined)), Reason: why + held + grows + w.swapped(i, swaps),
	}
	w.add(c, part.energy, p)
	w.laterPasses(i, c)
}

// changed returns the levels of kept groups that are not as they were drafted last.
func (w *writer) changed(levels []shows.Level) (list []shows.Level) {
	for _, l := range levels {
		if !slices.ContainsFunc(w.kept, func(have shows.Level) bool { return have.On == l.On && slices.Equal(have.Values, l.Values) }) {
			list = append(list, l)
		}
	}
	w.kept = over(w.kept, levels)
	return list
}

// over returns levels with others over them, which count where both have a group.
func over(under, upper []shows.Level) []shows.Level {
	all := slices.Clone(under)
	for _, l := range upper {
		i := slices.IndexFunc(all, func(have shows.Level) bool { return have.On == l.On })
		if i < 0 {
			all = append(all, l)
		} else {
			all[i] = l
		}
	}
	return all
}

// choose returns a section's light and the reason for it.
func (w *writer) choose(i int) (p picture, set []shows.Level, why string) {
	part := &w.parts[i]
	why = w.reason(i)
	if m := w.ladder.Spoken; part.spoken {
		why += "; spoken, so that faces stay lit"
		if m != nil {
			return picture{m.Look, m.Effects}, m.Set, why
		}
		r := w.climb.rung(w.climb.rungOf(part.energy), part.name)
		return picture{look: r.Look}, nil, why
	}
	if m := w.ladder.Breakdown; part.breakdown && m != nil && part.energy < strong {
		return picture{m.Look, m.Effects}, m.Set, why + "; breakdown"
	}
	if s, ok := w.forced.steps[i]; ok {
		part.step, why = s, why+w.measured(i)
		return w.climb.picture(s, part.name), nil, why
	}
	if held := (step{part.step.rung, calmer}); part.energy == w.peak && w.again(i) && !w.lesser(held, part.name) {
		part.step = held
		why += ", held back for the last"
	}
	s, differs := w.contrast(i, part.step)
	part.step = s
	return w.climb.picture(s, part.name), nil, why + differs
}

// measured is the reason for a light that the measures asked for.
func (w *writer) measured(i int) string {
	if w.parts[i].energy < w.peak {
		return "; another light, as measured beside the peak and the parts around it"
	}
	return "; another light, as measured beside the other parts"
}

// reason says how the energy changes.
func (w *writer) reason(i int) string {
	p := &w.parts[i]
	why := fmt.Sprintf("energy %d", p.energy)
	if i == 0 {
		why = "opens at " + why
	}
	switch d := w.change(i); {
	case d > 0:
		why += fmt.Sprintf(", up %d", d)
	case d < 0:
		why += fmt.Sprintf(", down %d", -d)
	case i > 0:
		why += ", as before"
	}
	if p.energy == w.peak && !p.spoken && !p.breakdown {
		why += ", the peak"
	}
	return why
}

// again reports whether a section of the same name and energy comes later.
func (w *writer) again(i int) bool {
	return slices.ContainsFunc(w.parts[i+1:], func(p part) bool {
		return p.energy == w.parts[i].energy && position.BaseName(p.name) == position.BaseName(w.parts[i].name) && !p.spoken && !p.theirs
	})
}

// lesser reports whether a section below the peak's energy has the same light.
func (w *writer) lesser(s step, name string) bool {
	for e, other := range w.climb.at {
		if e < w.peak && w.climb.picture(other, name).same(w.climb.picture(s, name)) {
			return true
		}
	}
	return false
}

// contrast returns the step s, or a nearby step if the section before has the same light
// at another energy, or is called otherwise; and the reason, if there is one to give.
func (w *writer) contrast(i int, s step) (chosen step, why string) {
	name := w.parts[i].name
	seen := func(s step) picture {
		p := w.climb.picture(s, name)
		p.effects, _ = w.fitting(i, p.effects)
		return p
	}
	d := w.change(i)
	if i > 0 && (d != 0 || position.BaseName(name) != position.BaseName(w.parts[i-1].name)) && seen(s).same(w.last) {
		others := w.climb.near(s, d > 0, w.top(i))
		if d == 0 { // effects of the same rung first
			others = slices.Concat(w.climb.sameRung(s), others)
		}
		for _, other := range others {
			if !seen(other).same(w.last) {
				return other, "; unlike the part before"
			}
		}
		return s, "; the ladder has nothing between"
	}
	return s, ""
}
