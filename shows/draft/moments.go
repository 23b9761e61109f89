package draft

import (
	"fmt"
	"slices"

	"tactus/shows"
)

// moment drafts the cue of a moment of the ladder.
func (w *writer) moment(m *shows.Moment, at, fade, why string) {
	p := picture{m.Look, m.Effects}
	w.add(Cue{At: at, Look: m.Look, Effects: m.Effects, Fade: fade, Set: m.Set, Reason: why}, -1, p)
}

// breath drafts a beat of the ladder's breath before a large lift into a strong
// section, unless someone speaks on either side or a person has written cues there.
func (w *writer) breath(i int) {
	m, d := w.ladder.Breath, w.change(i)
	if m == nil || d < LargeLift || w.parts[i].energy < strong || !w.ours(w.parts[i].theirs, w.breathAt(i)) {
		return
	}
	before := &w.parts[i-1]
	if before.spoken || w.parts[i].spoken || before.lastBar || before.bars < 2 || w.meter(i-1).Beats() < 2 {
		return
	}
	w.moment(m, w.breathAt(i), "1/2 beat", fmt.Sprintf("dark before a lift of %d", d))
}

// breathAt is the place of the breath before a section.
func (w *writer) breathAt(i int) string { return w.parts[i].name + " - 1 beat" }

// ours reports whether a cue may be drafted at a place; byPerson: a person wrote cues
// of the section. Then only a line that an earlier draft has put there is drafted
// again: an edit of one line does not take its neighbours away.
func (w *writer) ours(byPerson bool, at string) bool { return !byPerson || w.earlier[at] }

const (
	longChange = 12 // least bars of a section that changes on the way
	phrase     = 8  // bars between the changes of a long section
)

// changes drafts changes of effects in a long section: at its half, or every phrase.
func (w *writer) changes(i int) {
	part := &w.parts[i]
	if part.bars < longChange || part.spoken || part.breakdown {
		return
	}
	other, ok := w.other(i)
	if !ok {
		return
	}
	fade := "1 bar"
	if part.energy >= strong {
		fade = "2 beats"
	}
	for n, bar := range turnsOf(part.bars) {
		at := fmt.Sprintf("%s, bar %d", part.name, bar)
		if !w.ours(part.theirs || part.inside, at) {
			continue
		}
		p := part.look
		if n%2 == 0 {
			p = other
		}
		why := fmt.Sprintf("a change within %d bars", part.bars)
		w.addEffects(at, p, w.fits(i, fade), why)
		w.last = p
	}
}

// other returns what a long section changes to: busier effects, or calmer ones if the
// busier ones are kept for the peak; at the peak more effects; the rung's own effects
// if the section has calmer ones.
func (w *writer) other(i int) (picture, bool) {
	part := &w.parts[i]
	s, top := part.step, len(w.climb.rungs)-1
	variants := []int{busier, full}
	switch peak := part.energy == w.peak; {
	case peak && w.again(i):
		return picture{}, false
	case s.rung == top:
		variants = []int{full}
	case s.rung+1 == top && !peak:
		variants = []int{calmer}
	}
	if s.variant == calmer {
		variants = slices.Concat([]int{own}, variants)
	}
	var lists [][]string
	for _, v := range variants {
		lists = append(lists, w.climb.picture(step{s.rung, v}, part.name).effects)
	}
	if s.rung == top {
		for r := top - 1; r >= 0; r-- {
			lists = append(lists, w.mixed(part.look.effects, w.climb.rungs[r][0].Effects))
		}
	}
	for _, list := range lists {
		fit, _ := w.fitting(i, list)
		if p := (picture{part.look.look, fit}); !p.same(part.look) {
			return p, true
		}
	}
	return picture{}, false
}

// mixed keeps what moves colours in one list and takes the rest from another.
func (w *writer) mixed(colours, rest []string) (list []string) {
	for _, name := range colours {
		if w.moves(name) == "colour" {
			list = append(list, name)
		}
	}
	for _, name := range rest {
		if w.moves(name) != "colour" {
			list = union(list, []string{name})
		}
	}
	return list
}

func (w *writer) addEffects(at string, p picture, fade, why string) {
	if w.declined[at] {
		return
	}
	w.cues = append(w.cues, Cue{At: at, Effects: p.effects, Fade: fade, Reason: why})
	w.rows = append(w.rows, Row{At: at, Energy: -1, Look: p.look, Effects: p.effects, Fade: fade, Reason: why})
}

// turnsOf lists the bars, from 1, at which a section of so many changes.
func turnsOf(bars int) (list []int) {
	if bars <= 2*phrase {
		return []int{bars/2 + bars/2%2 + 1}
	}
	for bar := phrase; bar+phrase/2 <= bars; bar += phrase {
		list = append(list, bar+1)
	}
	return list
}

// ending drafts the fade at the song's end: over a beat where it is strong, over bars
// where it is calm.
func (w *writer) ending() {
	m, i := w.ladder.End, len(w.parts)-1
	p := &w.parts[i]
	if m == nil || p.spoken || p.lastBar || w.ends() {
		return
	}
	fade := "1 bar"
	switch {
	case p.energy >= strong:
		fade = "1 beat"
	case p.energy <= gentle && p.bars >= 4 && !p.inside:
		fade = "2 bars"
	}
	fade = w.fits(i, fade)
	if fade == "snap" {
		return
	}
	w.moment(m, p.name+" end - "+fade, fade, "the song ends")
}

// ends reports whether a person wrote a cue at the song's end.
func (w *writer) ends() bool {
	cues := w.song.song.Cues
	return len(cues) > 0 && cues[len(cues)-1].At >= w.song.song.Length()
}
