package compose

import (
	"context"
	"math"
	"slices"

	"tactus/clock"
	"tactus/engine"
	"tactus/shows"
	"tactus/shows/plan"
)

// Remedy is edits that take away what check finds at a place of a song.
type Remedy struct {
	Words string // what they do: "Take sparkle away in verse 1"
	Edits []Edit
}

// nearBeat is how near a finding's place must be to the one that is asked for, in quarter
// notes: it may have been rounded on its way.
const nearBeat = 0.01

// MaxRemedyTries is how many remedies are measured for one finding.
const MaxRemedyTries = 24

// RemedyOf looks for a remedy for a finding of a view's song: the first of those that are
// usual for its kind, the smallest first, that takes it away and brings no other. Each is
// made on a copy and measured as check does it. ok is false if there is none; the error is
// the context's.
func (s *Session) RemedyOf(ctx context.Context, v *View, song int32, kind plan.Kind, at clock.Beat) (r Remedy, ok bool, err error) {
	t := &trial{view: v, song: song, file: v.Show.Files[song]}
	if t.before, err = t.measure(ctx, v.Show); err != nil {
		return r, false, err
	}
	i := slices.IndexFunc(t.before.Findings, func(f plan.Finding) bool {
		return f.Kind == kind && f.Accepted == "" && math.Abs(max(0, f.Beat).Quarters()-max(0, at).Quarters()) < nearBeat
	})
	if i < 0 {
		return r, false, nil
	}
	t.finding = &t.before.Findings[i]
	list, err := t.candidates()
	if err != nil {
		return r, false, nil // the file is written in a way that edits cannot follow
	}
	for n, c := range list {
		if n == MaxRemedyTries {
			break
		}
		helps, err := t.helps(ctx, c.Edits)
		if err != nil || helps {
			return c, helps, err
		}
	}
	return r, false, nil
}

// trial tries edits on a copy of a view.
type trial struct {
	view    *View
	song    int32
	file    string
	loader  *shows.Loader
	before  *plan.Song
	night   *plan.Night
	finding *plan.Finding
}

func (t *trial) measure(ctx context.Context, show *shows.Show) (*plan.Song, error) {
	night, err := plan.Measure(ctx, show, plan.Options{Songs: []int32{t.song}, InShort: true})
	if err != nil {
		return nil, err
	}
	if t.night == nil {
		t.night = night
	}
	return &night.Songs[0], nil
}

// helps reports whether the finding is gone after edits, and no other has come.
func (t *trial) helps(ctx context.Context, edits []Edit) (bool, error) {
	if t.loader == nil {
		t.loader = shows.LoaderOf(t.view.Show)
	}
	f := newFiles(t.view.Sources, t.loader)
	f.unread = t.view.unread
	for _, e := range edits {
		if e.edit(f) != nil {
			return false, ctx.Err()
		}
	}
	if sameSources(f.sources, t.view.Sources) {
		return false, ctx.Err()
	}
	show, _ := t.loader.LoadSources(f.sources, t.view.unread, shows.Options{})
	if show == nil {
		return false, ctx.Err()
	}
	after, err := t.measure(ctx, show)
	if err != nil {
		return false, err
	}
	type key struct {
		kind    plan.Kind
		section int
	}
	keyOf := func(f *plan.Finding) key { return key{f.Kind, sectionAt(after.Sections, f.Beat)} }
	had := map[key]int{}
	for i := range t.before.Findings {
		if f := &t.before.Findings[i]; f != t.finding && f.Accepted == "" {
			had[keyOf(f)]++
		}
	}
	for i := range after.Findings {
		f := &after.Findings[i]
		if f.Accepted != "" {
			continue
		}
		if had[keyOf(f)]--; had[keyOf(f)] < 0 {
			return false, nil
		}
	}
	return true, nil
}

// sectionAt returns the index of the section at a place; the last at the song's end.
func sectionAt(sections []plan.Section, at clock.Beat) int {
	i := slices.IndexFunc(sections, func(s plan.Section) bool { return at < s.Start+s.Length })
	if i < 0 {
		return len(sections) - 1
	}
	return i
}

// compiled returns the song as it is compiled.
func (t *trial) compiled() *engine.Song { return &t.view.Show.Program.Songs[t.song] }

// effectNames returns the names of effects.
func (t *trial) effectNames(list []int32) (names []string) {
	for _, e := range list {
		names = append(names, t.view.Show.Program.Effects[e].Name)
	}
	return names
}

// up returns the light that is up at a place of the song.
func (t *trial) up(at clock.Beat) (look string, effects []string) {
	cues := t.compiled().Cues
	for i := range cues {
		c := &cues[i]
		if c.At > at {
			break
		}
		if !c.SendsOnly {
			look, effects = c.Name, t.effectNames(c.Effects)
		}
	}
	return look, effects
}
