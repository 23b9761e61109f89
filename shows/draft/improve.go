package draft

import (
	"context"
	"io/fs"
	"slices"

	"tactus/shows"
	"tactus/shows/plan"
)

// maxTries is how many other lights of sections are measured for one draft.
const maxTries = 24

// attempt is a draft with its measures.
type attempt struct {
	writer *writer
	source []byte
	song   *plan.Song
	// score is 0 if nothing was found. Flat adds 10000; DoesNotFollow, DimPeak, each Alike
	// and each pair of an inversion 100; a dim peak also its lack in L*, and energies that
	// light does not follow well 1 for each hundredth below wellFollowed.
	score float64
}

// improver drafts a song, measures the draft, and tries other lights for the sections
// that its findings are about.
type improver struct {
	files fs.FS
	file  string
	text  *text
	show  *shows.Show
	tries int // left
}

// best returns the draft with the fewest findings. A try that is no better than the
// best so far is dropped.
func (m *improver) best() (*attempt, error) {
	best, err := m.attempt(nil)
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
		for _, s := range best.writer.nearby(c.section, c.up) {
			if m.tries == 0 {
				return nil
			}
			m.tries--
			forced := map[int]step{c.section: s}
			for i, old := range best.writer.forced {
				if i != c.section {
					forced[i] = old
				}
			}
			if a, err := m.attempt(forced); err == nil && a.score < best.score {
				return a
			}
		}
	}
	return nil
}

// attempt drafts the song with some sections' lights given, and measures it after the
// walk-in, unless nothing else may be tried.
func (m *improver) attempt(forced map[int]step) (*attempt, error) {
	s := newSong(m.show, slices.Index(m.show.Files, m.file))
	w := newWriter(s, m.text, forced)
	w.write()
	out, err := m.text.mergeCues(w.cues, s.find)
	if err != nil {
		return nil, err
	}
	show, problems := shows.Load(m.files, with(m.file, out))
	if len(problems) > 0 {
		return nil, errNoRoom(m.file)
	}
	a := &attempt{writer: w, source: out}
	if m.tries == 0 && forced == nil {
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
			a.score += 10000
		case plan.DoesNotFollow, plan.DimPeak, plan.Alike:
			a.score += 100
		}
	}
	for _, c := range a.song.Contradictions() {
		a.score += 100 * float64(len(c.Others))
	}
	if peak, brighter := a.song.DimPeak(); peak != nil {
		a.score += brighter.Brightness - peak.Brightness
	}
	if rho := a.song.Follows(); rho < wellFollowed {
		a.score += 100 * (wellFollowed - rho)
	}
}

// wellFollowed is the rank correlation of energies and light that a draft tries for.
const wellFollowed = 0.9

// misplaced returns the two sections whose strengths contradict their energies most;
// nil if none do, or light follows well enough.
func (a *attempt) misplaced() (low, high *plan.Section) {
	if rho := a.song.Follows(); !(rho < wellFollowed) {
		return nil, nil
	}
	worst := 0.0
	for i := range a.song.Sections {
		for k := range a.song.Sections {
			x, y := &a.song.Sections[i], &a.song.Sections[k]
			if by := x.Strength - y.Strength; x.Energy < y.Energy && by > worst {
				low, high, worst = x, y, by
			}
		}
	}
	return low, high
}

// change is a section that may have another light, a brighter and busier one or a
// calmer one.
type change struct {
	section int
	up      bool
}

// changes lists the sections that the findings are about, as far as they are drafted:
// those that outshine the peak, the peak, those of inversions, and two that look alike.
func (a *attempt) changes() (list []change) {
	add := func(section int32, up bool) {
		p := &a.writer.parts[section]
		c := change{int(section), up}
		if !p.theirs && !p.spoken && !p.breakdown && !slices.Contains(list, c) {
			list = append(list, c)
		}
	}
	if peak, brighter := a.song.DimPeak(); peak != nil {
		add(brighter.Index, false)
		add(peak.Index, true)
		add(peak.Index, false)
	}
	for _, c := range a.song.Contradictions() {
		add(c.Cause.Index, c.Weak())
		for _, other := range c.Others {
			add(other.Index, !c.Weak())
		}
	}
	if low, high := a.misplaced(); low != nil {
		add(low.Index, false)
		add(high.Index, true)
	}
	for i := range a.song.Findings {
		f := &a.song.Findings[i]
		k := slices.IndexFunc(a.song.Sections, func(s plan.Section) bool { return s.Start == f.Beat })
		if f.Kind != plan.Alike || k < 1 {
			continue
		}
		up := a.song.Sections[k].Energy >= a.song.Sections[k-1].Energy
		add(int32(k), up)
		add(int32(k-1), !up)
		add(int32(k), !up)
	}
	return list
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
