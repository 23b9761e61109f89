package draft

import (
	"fmt"
	"slices"

	"tactus/shows"
)

// moment drafts the cue of a moment of the ladder.
func (w *writer) moment(m *shows.Moment, at, fade, why string) {
	w.addMoment(m, Cue{At: at, Fade: fade, Reason: why})
}

func (w *writer) addMoment(m *shows.Moment, c Cue) {
	c.Look, c.Effects, c.Set = m.Look, m.Effects, m.Set
	w.add(c, -1, picture{m.Look, m.Effects})
}

// breath drafts a beat of the ladder's breath before the section that has it.
func (w *writer) breath(i int) {
	if i != w.breathAt {
		return
	}
	w.moment(w.ladder.Breath, breathBefore(w.parts[i].name), "1/2 beat", fmt.Sprintf("dark before a lift of %d", w.change(i)))
}

// breathSection returns the section that has the song's only breath before it: the
// last of the highest energy with a large lift; -1 if there is none.
func (w *writer) breathSection() int {
	if b := w.character.Breath; w.ladder.Breath == nil || b != nil && !*b {
		return -1
	}
	for i := len(w.parts) - 1; i > 0; i-- {
		before, p := &w.parts[i-1], &w.parts[i]
		if p.energy < w.peak || w.change(i) < LargeLift || p.energy < strong || !w.ours(p.theirs, spot{At: breathBefore(p.name)}) {
			continue
		}
		if !before.spoken && !p.spoken && !before.lastBar && before.bars >= 2 && w.meter(i-1).Beats() >= 2 {
			return i
		}
	}
	return -1
}

// breathBefore is the place of the breath before a section.
func breathBefore(section string) string { return section + " - 1 beat" }

// ours reports whether a cue may be drafted at a place; byPerson: a person wrote cues
// of the section. Then only a line that an earlier draft has put there is drafted
// again: an edit of one line does not take its neighbours away.
func (w *writer) ours(byPerson bool, at spot) bool { return !byPerson || w.earlier[at] }

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
		if !w.ours(part.theirs || part.inside, spot{At: at}) {
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
	if w.declined[spot{At: at}] {
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

// ending drafts the song's end, which is never dark before it: a fade that lands on it,
// over a beat where the song is strong and over bars where it is calm; a snap at it; or
// the last light, which stands still for the last bar.
func (w *writer) ending() {
	m, i := w.ladder.End, len(w.parts)-1
	p := &w.parts[i]
	if p.spoken || p.lastBar || w.ends() {
		return
	}
	switch {
	case w.character.End == "held":
		if still := (picture{look: p.look.look}); len(w.last.effects) > 0 && p.bars >= 2 {
			w.addEffects(p.name+" end - 1 bar", still, w.fits(i, "2 beats"), "held on the last chord")
		}
		return
	case m == nil:
		return
	case w.character.End == "snapped":
		w.addMoment(m, Cue{At: p.name + " end", Fade: "snap", Reason: "the song ends"})
		return
	}
	fade := "1 bar"
	switch {
	case p.energy >= strong:
		fade = "1 beat"
	case p.energy <= gentle && p.bars >= 4 && !p.inside:
		fade = "2 bars"
	}
	if fade = w.fits(i, w.withinQuarter(i, fade)); fade == "snap" {
		return
	}
	w.addMoment(m, Cue{At: p.name + " end", Fade: fade, Lands: true, Reason: "the song ends"})
}

// ends reports whether a person wrote a cue at the song's end.
func (w *writer) ends() bool {
	cues := w.song.song.Cues
	return len(cues) > 0 && cues[len(cues)-1].At >= w.song.song.Length()
}
