package draft

import (
	"cmp"
	"context"
	"maps"
	"math"
	"slices"

	"tactus/shows"
	"tactus/shows/language"
	"tactus/shows/plan"
)

// maxTries is how many other lights of sections are measured for one draft.
const maxTries = 24

// attempt is a draft with its measures.
type attempt struct {
	writer *writer
	source []byte
	song   *plan.Song
	// score is 0 if nothing was found. Flat adds 10000, less 100 times the span of strength; every other kind that lights can mend
	// and each pair of an inversion 100; a dim peak also its lack in L*, and energies that
	// light does not follow well 1 for each hundredth below wellFollowed.
	score float64
}

// improver drafts a song, measures the draft, and tries other lights for the sections
// that its findings are about.
type improver struct {
	sources map[string][]byte
	unread  language.Problems
	file    string
	text    *text
	loader  shows.Loader // keeps what tries have in common
	show    *shows.Show  // without the song's drafted lines
	tries   int          // left
}

// best returns the draft with the fewest findings. A try that is no better than the
// best so far is dropped.
func (m *improver) best() (*attempt, error) {
	best, err := m.attempt(adjustments{})
	if err != nil {
		return nil, err
	}
	for m.tries > 0 && best.score > 0 {
		better := m.better(best)
		if better == nil {
			break
		}
		best = better
	}
	return best, nil
}

// better returns an attempt with a lower score that differs in one section's light,
// or nil.
func (m *improver) better(best *attempt) *attempt {
	for _, c := range best.changes() {
		for _, other := range best.writer.alternatives(c) {
			if m.tries == 0 {
				return nil
			}
			m.tries--
			if a, err := m.attempt(other); err == nil && a.score < best.score {
				return a
			}
		}
	}
	return nil
}

// adjustments are what measuring asks for, by section: another step of the ladder, and a
// share of its level, 0..1, to which its light is dimmed, and effects that it does without.
type adjustments struct {
	steps map[int]step
	dims  map[int]float64
	fewer map[int]int
}

// adjusted returns a copy of a map with another value for a section.
func adjusted[V any](values map[int]V, section int, v V) map[int]V {
	next := map[int]V{}
	maps.Copy(next, values)
	next[section] = v
	return next
}

// alternatives lists the present adjustments with another one for a section: a section
// that is to be weaker is dimmed first, by as much as it is too strong; then nearby
// steps.
func (w *writer) alternatives(c change) (list []adjustments) {
	now := w.forced
	if c.by > 0 && len(w.trusses) > 0 {
		old, ok := now.dims[c.section]
		if !ok {
			old = 1
		}
		if dim := old * dimmedBy(c.lightness, c.by); dim > leastDim {
			list = append(list, adjustments{now.steps, adjusted(now.dims, c.section, dim), now.fewer})
		}
	}
	if n := now.fewer[c.section]; c.busy && n < len(w.parts[c.section].look.effects) {
		list = append(list, adjustments{now.steps, now.dims, adjusted(now.fewer, c.section, n+1)})
	}
	for _, s := range w.nearby(c.section, c.up) {
		list = append(list, adjustments{adjusted(now.steps, c.section, s), now.dims, now.fewer})
	}
	return list
}

// leastDim is how far a section is dimmed at most.
const leastDim = 0.3

// dimmedBy returns the share of the light of a section of a lightness (L*) that makes it
// weaker by so much of strength, and a little more: most of strength is lightness.
func dimmedBy(lightness, strength float64) float64 {
	const each, more = 11, 1.5                                                  // L* for a strength of 1; L*
	light := func(l float64) float64 { return math.Pow((max(8, l)+16)/116, 3) } // CIE 15, above L* 8
	return light(lightness-each*strength-more) / light(lightness)
}

// attempt drafts the song with some sections' lights given, and measures it after the
// walk-in, unless nothing else may be tried.
func (m *improver) attempt(forced adjustments) (*attempt, error) {
	s := newSong(m.show, slices.Index(m.show.Files, m.file))
	w := newWriter(s, m.text, forced)
	w.write()
	out, err := m.text.mergeCues(w.cues, s.find)
	if err != nil {
		return nil, err
	}
	show, problems := m.load(out)
	if len(problems) > 0 {
		return nil, errNoRoom(m.file)
	}
	a := &attempt{writer: w, source: out}
	if m.tries == 0 && forced.steps == nil && forced.dims == nil && forced.fewer == nil {
		return a, nil // nothing else would be tried
	}
	index := int32(slices.Index(show.Files, m.file))
	show.Program.SetList = []int32{index} // songs before it in the set do not change the stage's light
	night, err := plan.Measure(context.Background(), show, plan.Options{Songs: []int32{index}})
	if err != nil {
		return nil, err
	}
	a.song = &night.Songs[0]
	a.rate()
	return a, nil
}

// rate counts the findings about sections beside one another.
func (a *attempt) rate() {
	for i := range a.song.Findings {
		switch f := &a.song.Findings[i]; f.Kind {
		case plan.Flat: // never taken for fewer inversions
			a.score += 10000 - 100*a.span()
		case plan.DoesNotFollow, plan.DimPeak, plan.Alike, plan.TooBusy, plan.Crowded, plan.AgainstBeat, plan.FacesFlicker:
			a.score += 100
		}
	}
	for _, c := range a.song.Contradictions() {
		a.score += 100 * float64(len(c.Others))
	}
	if peak, brighter := a.song.DimPeak(); peak != nil {
		a.score += brighter.Brightness - peak.Brightness
	}
	if a.misplaced() != nil {
		a.score += 100 * (wellFollowed - a.song.Follows())
	}
}

// span is the difference in strength of the strongest and the weakest section.
func (a *attempt) span() float64 {
	low, high := 10., 0.
	for i := range a.song.Sections {
		low, high = min(low, a.song.Sections[i].Strength), max(high, a.song.Sections[i].Strength)
	}
	return high - low
}

// wellFollowed is the rank correlation of energies and light that a draft tries for.
const wellFollowed = 0.9

// misplacedPair is a section that is stronger than one of more energy.
type misplacedPair struct{ low, high *plan.Section }

// misplaced lists the sections whose strengths contradict their energies, the worst
// first; none if light follows well enough.
func (a *attempt) misplaced() (list []misplacedPair) {
	if rho := a.song.Follows(); !(rho < wellFollowed) {
		return nil
	}
	for i := range a.song.Sections {
		for k := range a.song.Sections {
			low, high := &a.song.Sections[i], &a.song.Sections[k]
			if low.Energy < high.Energy && low.Strength > high.Strength {
				list = append(list, misplacedPair{low, high})
			}
		}
	}
	slices.SortStableFunc(list, func(a, b misplacedPair) int {
		return cmp.Compare(b.low.Strength-b.high.Strength, a.low.Strength-a.high.Strength)
	})
	return list
}

// flatBy is the strength by which the weakest sections of a flat song are made weaker.
const flatBy = 0.3

// alikeBy is the strength by which one of two sections that look alike is made weaker.
const alikeBy = 0.4

// change is a section that may have another light, a brighter and busier one or a
// calmer one.
type change struct {
	section   int
	up        bool
	by        float64 // of strength that it is too strong; 0: not known, or it is too weak
	lightness float64 // L* of the section
	busy      bool    // it has too many effects, or one that does not suit it
}

// changes lists the sections that the findings are about, as far as they are drafted:
// those that outshine the peak, the peak, those of inversions, and two that look alike.
func (a *attempt) changes() (list []change) {
	add := func(section int32, up bool, by float64) {
		p := &a.writer.parts[section]
		c := change{section: int(section), up: up, by: by, lightness: a.song.Sections[section].Brightness}
		if !p.theirs && !p.spoken && !p.breakdown && !slices.Contains(list, c) {
			list = append(list, c)
		}
	}
	a.flatChanges(add)
	if peak, brighter := a.song.DimPeak(); peak != nil {
		add(brighter.Index, false, (brighter.Brightness-peak.Brightness)/10)
		add(peak.Index, true, 0)
		add(peak.Index, false, 0)
	}
	for _, c := range a.song.Contradictions() {
		for _, other := range c.Others {
			if c.Weak() {
				add(other.Index, false, other.Strength-c.Cause.Strength)
			} else {
				add(c.Cause.Index, false, c.Cause.Strength-other.Strength)
				add(other.Index, true, 0)
			}
		}
		if c.Weak() {
			add(c.Cause.Index, true, 0)
		}
	}
	for _, pair := range a.misplaced() {
		add(pair.low.Index, false, pair.low.Strength-pair.high.Strength)
		add(pair.high.Index, true, 0)
	}
	for i := range a.song.Findings {
		f := &a.song.Findings[i]
		k := slices.IndexFunc(a.song.Sections, func(s plan.Section) bool { return s.Start == f.Beat })
		if k >= 0 && (f.Kind == plan.TooBusy || f.Kind == plan.Crowded || f.Kind == plan.AgainstBeat) && !a.writer.parts[k].theirs {
			list = append(list, change{section: k, busy: true})
		}
		if f.Kind != plan.Alike || k < 1 {
			continue
		}
		up := a.song.Sections[k].Energy >= a.song.Sections[k-1].Energy
		add(int32(k), up, 0)
		add(int32(k-1), !up, 0)
		add(int32(k), !up, 0)
		if up { // the weaker one may also be dimmed
			add(int32(k-1), false, alikeBy)
		} else {
			add(int32(k), false, alikeBy)
		}
	}
	return list
}

// flatChanges adds the strongest and the weakest sections of a song that is flat.
func (a *attempt) flatChanges(add func(section int32, up bool, by float64)) {
	if !slices.ContainsFunc(a.song.Findings, func(f plan.Finding) bool { return f.Kind == plan.Flat }) {
		return
	}
	for i := range a.song.Sections {
		switch a.writer.parts[i].energy {
		case a.writer.peak:
			add(int32(i), true, 0)
		case energies(a.writer.song)[0]:
			add(int32(i), false, flatBy)
		}
	}
}

// nearby lists other lights for a section, the nearest first. The top of the ladder
// is for the peak.
func (w *writer) nearby(i int, up bool) []step {
	return w.climb.near(w.parts[i].step, up, w.top(i))
}

// top is the highest rung that a section may have.
func (w *writer) top(i int) int {
	top := len(w.climb.rungs) - 1
	if w.parts[i].energy < w.peak {
		top = max(0, top-1)
	}
	return top
}
