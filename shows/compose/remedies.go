package compose

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"tactus/clock"
	"tactus/shows"
	"tactus/shows/limits"
	"tactus/shows/plan"
	"tactus/shows/position"
)

// candidates lists remedies that are usual for the finding, the smallest first.
func (t *trial) candidates() (list []Remedy, err error) {
	spots, err := t.spots()
	if err != nil {
		return nil, err
	}
	w := &remedies{trial: t, spots: spots, section: sectionAt(t.before.Sections, t.finding.Beat)}
	switch t.finding.Kind {
	case plan.TooBusy, plan.Crowded, plan.AgainstBeat, plan.OffPalette, plan.Flashing:
		w.fewerEffects(w.section)
		w.otherLooks(w.section)
	case plan.DarkGap:
		w.lightAgain()
		w.fewerEffects(w.section)
		w.otherLooks(w.section)
	case plan.Alike:
		w.otherLooks(w.section)
		w.otherLooks(w.section - 1)
	case plan.Inversion, plan.DimPeak, plan.DoesNotFollow, plan.Flat:
		w.looksOfEnergies()
		for _, i := range w.about() {
			w.scaled(i)
		}
	case plan.LongFade:
		w.shorterFade()
	case plan.FacesDark, plan.FrontLightOut:
		w.levels(w.faces(), "intensity", "70 %", "50 %", "100 %")
	case plan.FacesColoured:
		w.levels(w.faces(), "colour", "warm", "4000 K", "white")
		w.fewerEffects(w.section)
	case plan.FacesFlicker:
		w.fewerEffects(w.section)
		w.longerFade()
	case plan.HouseLit:
		w.levels(w.house(), "intensity", "10 %", "0 %")
		w.levelsInAll(w.strong(), w.house(), "intensity", "10 %", "0 %")
	case plan.EyesLit:
		w.fewerEffects(w.section)
		w.otherLooks(w.section)
	case plan.Idle:
		w.unaccept()
	}
	return w.list, nil
}

// lightSpot is where a song's file writes light: in a section, or in a cue.
type lightSpot struct {
	section int // in which it is
	cue     int // its index, or -1: it is the section's own
	at      clock.Beat
	in      string // the passes that it is for
}

// spots lists where the song's file writes light, in the order of the song.
func (t *trial) spots() (list []lightSpot, err error) {
	f := newFiles(t.view.Sources, new(shows.Loader))
	line, err := timelineOf(f, t.file)
	if err != nil {
		return nil, err
	}
	for i, key := range line.keys {
		keys, err := f.keys(t.file, place{"sections", i, key})
		if err != nil {
			return nil, err
		}
		if slices.ContainsFunc(keys, func(k string) bool { return slices.Contains([]string{"look", "effects", "set"}, k) }) {
			list = append(list, lightSpot{i, -1, line.song.Sections[i].Start, ""})
		}
	}
	n, err := f.count(t.file, place{"cues"})
	if err != nil {
		return nil, err
	}
	for i := range n {
		at, err := f.node(t.file, place{"cues", i, "at"})
		if err != nil || at == nil {
			return nil, err
		}
		beat, fault := position.FindForCue(&line.song, at.Value)
		if fault != nil {
			continue
		}
		s := lightSpot{sectionAt(t.before.Sections, beat), i, beat, ""}
		if in, _ := f.node(t.file, place{"cues", i, "in"}); in != nil {
			s.in = in.Value
		}
		list = append(list, s)
	}
	slices.SortStableFunc(list, func(a, b lightSpot) int { return cmp.Compare(a.at, b.at) })
	return list, nil
}

// remedies lists what may help, as candidates that are tried in their order.
type remedies struct {
	*trial
	spots   []lightSpot
	section int
	list    []Remedy
}

func (w *remedies) add(words string, edits ...Edit) {
	if len(edits) > 0 {
		w.list = append(w.list, Remedy{words, edits})
	}
}

func (w *remedies) name(section int) string { return w.before.Sections[section].Name }

// set is an edit of a key at a spot.
func (w *remedies) set(s lightSpot, key string, to Value) Edit {
	if s.cue < 0 {
		return &SetSection{Song: w.file, Section: s.section, Key: key, To: to}
	}
	return &SetCue{Song: w.file, Cue: s.cue, Key: key, To: to}
}

// in lists the spots in a section. Where its first light is not written at its start, the
// section itself is the first.
func (w *remedies) in(section int) (list []lightSpot) {
	start := w.before.Sections[section].Start
	for _, s := range w.spots {
		if s.section == section {
			list = append(list, s)
		}
	}
	if !slices.ContainsFunc(list, func(s lightSpot) bool { return s.at == start && s.in == "" }) {
		list = slices.Insert(list, 0, lightSpot{section, -1, start, ""})
	}
	return list
}

// fewerEffects takes effects of a section away: each alone, the last in the list first, then
// two, then all.
func (w *remedies) fewerEffects(section int) {
	var all []string
	spots := w.in(section)
	for _, s := range spots {
		_, effects := w.up(s.at)
		for _, e := range effects {
			if !slices.Contains(all, e) {
				all = append(all, e)
			}
		}
	}
	slices.Reverse(all)
	var sets [][]string
	for i := range all {
		sets = append(sets, all[i:i+1])
	}
	for i := range all {
		for k := i + 1; k < len(all); k++ {
			sets = append(sets, []string{all[i], all[k]})
		}
	}
	if len(all) > 2 {
		sets = append(sets, all)
	}
	for _, away := range sets {
		var edits []Edit
		for _, s := range spots {
			_, effects := w.up(s.at)
			left := slices.DeleteFunc(slices.Clone(effects), func(e string) bool { return slices.Contains(away, e) })
			if len(left) < len(effects) {
				edits = append(edits, w.set(s, "effects", namesValue(left)))
			}
		}
		w.add(fmt.Sprintf("Take %s away in %s", and(away), w.name(section)), edits...)
	}
}

// and joins names for a sentence.
func and(names []string) string {
	if len(names) < 2 {
		return strings.Join(names, "")
	}
	return strings.Join(names[:len(names)-1], ", ") + " and " + names[len(names)-1]
}

// at returns the spot of the cue at the finding's place.
func (w *remedies) at(beat clock.Beat) (lightSpot, bool) {
	i := slices.IndexFunc(w.spots, func(s lightSpot) bool { return s.at == beat })
	if i < 0 {
		return lightSpot{}, false
	}
	return w.spots[i], true
}

func (w *remedies) shorterFade() {
	s, ok := w.at(w.finding.Beat)
	if !ok {
		return
	}
	for _, fade := range []string{"4 bars", "2 bars", "1 bar", "2 beats", "1 beat", "1/2 beat"} {
		w.add(fmt.Sprintf("Let the change at %s take %s", w.finding.Place, fade), w.set(s, "fade", Text(fade)))
	}
}

// longerFade gives the changes inside a section longer fades.
func (w *remedies) longerFade() {
	for _, fade := range []string{"2 s", "1 bar", "2 bars"} {
		var edits []Edit
		for _, s := range w.in(w.section) {
			edits = append(edits, w.set(s, "fade", Text(fade)))
		}
		w.add(fmt.Sprintf("Let the changes in %s take %s", w.name(w.section), fade), edits...)
	}
}

// lightAgain brings the light back on the downbeat after the finding's place.
func (w *remedies) lightAgain() {
	song := w.compiled()
	look, effects := "", []string(nil) // the last that was not dark
	for i := range song.Cues {
		if c := &song.Cues[i]; c.At <= w.finding.Beat && !c.SendsOnly && !shows.IsDark(w.view.Show.Program, c) {
			look, effects = c.Name, w.effectNames(c.Effects)
		}
	}
	next := song.NextBar(max(0, w.finding.Beat))
	if look == "" || next >= song.Length() {
		return
	}
	at := position.Name(song, next)
	w.add(fmt.Sprintf("Bring %s back at %s", look, at), &PlaceCue{Song: w.file, At: at, Look: look, Effects: effects, Fade: "snap"})
}

// faces are the groups that the rig keeps for front light.
func (w *remedies) faces() []string {
	return w.kept(func(h int32) bool { return slices.Contains(w.night.Faces, h) })
}

// house are the groups that the rig keeps for house lights.
func (w *remedies) house() []string {
	return w.kept(func(h int32) bool { return w.view.Show.Program.Heads[h].House })
}

func (w *remedies) kept(is func(head int32) bool) (names []string) {
	for _, g := range w.view.Show.Kept {
		if slices.ContainsFunc(g.Heads, is) {
			names = append(names, g.Name)
		}
	}
	return names
}

// strong lists the sections of strong energy.
func (w *remedies) strong() (list []int) {
	for i := range w.before.Sections {
		if float64(w.before.Sections[i].Energy) >= w.view.Show.Limits.Value(limits.StrongEnergy) {
			list = append(list, i)
		}
	}
	return list
}

// levels gives groups a level at the start of the section.
func (w *remedies) levels(groups []string, level string, to ...string) {
	w.levelsInAll([]int{w.section}, groups, level, to...)
}

// levelsInAll gives groups a level at the start of sections.
func (w *remedies) levelsInAll(sections []int, groups []string, level string, to ...string) {
	var names []string
	for _, i := range sections {
		names = append(names, w.name(i))
	}
	for _, v := range to {
		var edits []Edit
		for _, i := range sections {
			for _, g := range groups {
				edits = append(edits, w.level(w.in(i)[0], g, level, v))
			}
		}
		w.add(fmt.Sprintf("Set %s to %s in %s", and(groups), v, and(names)), edits...)
	}
}

func (w *remedies) level(s lightSpot, on, level, to string) Edit {
	if s.cue < 0 {
		return &SetSectionLevel{Song: w.file, Section: s.section, On: on, Level: level, To: Text(to)}
	}
	return &SetCueLevel{Song: w.file, Cue: s.cue, On: on, Level: level, To: Text(to)}
}

// unaccept takes a line away that accepts what is not there.
func (w *remedies) unaccept() {
	f := newFiles(w.view.Sources, new(shows.Loader))
	n, err := f.count(w.file, place{"accepted"})
	if err != nil {
		return
	}
	for i := range n {
		node, err := f.node(w.file, place{"accepted", i})
		if err == nil && node != nil && strings.HasSuffix(w.finding.Written, fmt.Sprintf("%s:%d", w.file, node.Line)) {
			w.add("Take the line away that accepts it", &UnacceptFinding{Song: w.file, Accepted: i})
		}
	}
}
