package engine

import (
	"errors"
	"fmt"
	"reflect"
	"slices"

	"tactus/clock"
	"tactus/fixtures"
	"tactus/protocol/dmx"
)

// ErrRestart is wrapped by errors of edits that cannot be taken over while a show
// plays.
var ErrRestart = errors.New("this needs a restart")

// Reload is an edited program, prepared to replace the present one while it plays.
// Songs, sections, looks, groups and heads are matched by name. All of it is prepared
// outside the loop and without its time. A Reload is used once.
type Reload struct {
	old, prog *Program
	gone      []string
	fade      clock.Time    // how long the difference in the light takes to fade
	taken     chan struct{} // closed once a loop has taken it, or passed over it

	// New index, or None, by old index:
	heads, songs, looks, groups, places []int32
	sectionMaps                         []sectionMap

	oldEffects []Effect // of the old program, for a present cue that the new one lacks
	memory     memory   // of the new program
	identity   identity // likewise

	// By the new program's heads:
	sentLight []fixtures.State
	oldLight  []fixtures.State // memory.showLight before
	fadeWays  []fixtures.Arc

	universes []dmx.Universe // of another patch; nil: the patch is the same
}

// NewReload prepares to go from one program to another. It returns ErrRestart with
// the reasons if the patch has changed: the meaning of slots does not change while
// the stage is lit.
func NewReload(old, to *Program) (*Reload, error) {
	if err := samePatch(old, to); err != nil {
		return nil, err
	}
	return newReload(old, to), nil
}

// NewRehearsalReload is [NewReload] for a stage whose frames leave no computer: the patch may
// change, with its universes and heads. Heads that are gone take their light along, and new
// ones begin dark. It returns ErrRestart if the inputs have changed.
func NewRehearsalReload(old, to *Program) (*Reload, error) {
	if err := sameInputs(old, to); err != nil {
		return nil, err
	}
	r := newReload(old, to)
	if samePatch(old, to) != nil {
		r.universes = make([]dmx.Universe, to.Patch.Universes())
	}
	return r, nil
}

func newReload(old, to *Program) *Reload {
	r := &Reload{old: old, prog: to, fade: to.Ease, taken: make(chan struct{})}
	r.heads = matchNames(namesOf(old.Heads, headName), namesOf(to.Heads, headName))
	r.songs = matchNames(namesOf(old.Songs, songName), namesOf(to.Songs, songName))
	r.looks = matchNames(namesOf(old.Looks, cueName), namesOf(to.Looks, cueName))
	r.matchGroups()
	r.matchPlaces()
	for i, j := range r.songs {
		r.sectionMaps = append(r.sectionMaps, r.mapSections(int32(i), j))
	}
	for i, j := range r.looks {
		r.reportMissing(j, "look %q", old.Looks[i].Name)
	}
	r.oldEffects = append([]Effect{}, old.Effects...) // never nil: see memory.lostEffects
	for i := range r.oldEffects {
		r.oldEffects[i].Heads = slices.Clone(r.oldEffects[i].Heads)
	}
	if old.Patch.IsBrightPrepared() { // the light may still be bright
		to.Patch.PrepareBright()
	}
	r.memory, r.identity = newMemory(r.prog), identityOf(r.prog)
	r.sentLight, r.oldLight = make([]fixtures.State, len(to.Heads)), make([]fixtures.State, len(to.Heads))
	r.fadeWays = make([]fixtures.Arc, len(to.Heads))
	return r
}

// Program returns the new program. Groups of the old one that it lacks are appended,
// so that their masters and overrides act until released.
func (r *Reload) Program() *Program { return r.prog }

// FadeOver sets how long the difference between the old light and the new takes to fade;
// otherwise it is Program.Ease. At 0 the new light is there with the next frame.
func (r *Reload) FadeOver(t clock.Time) { r.fade = t }

// Taken is closed by the [Loop] that gets the reload, once it has gone on with the new
// program or passed over it. A second reload from the new program is prepared and passed on
// after that: a loop takes one with each frame.
func (r *Reload) Taken() <-chan struct{} { return r.taken }

// Gone lists what the new program lacks, such as `look "dusk"`.
func (r *Reload) Gone() []string { return r.gone }

func (r *Reload) reportMissing(to int32, format string, args ...any) {
	if to == None {
		r.gone = append(r.gone, fmt.Sprintf(format, args...))
	}
}

func headName(h *Head) string       { return h.Name }
func songName(s *Song) string       { return s.Name }
func cueName(c *Cue) string         { return c.Name }
func sectionName(s *Section) string { return s.Name }
func groupName(g *Group) string     { return g.Name }

func inputName(in *LevelInput) string { return in.Name + " (" + in.Wire + ")" }

func namesOf[T any](list []T, name func(*T) string) []string {
	out := make([]string, len(list))
	for i := range list {
		out[i] = name(&list[i])
	}
	return out
}

// matchNames returns the new index of each old name, or None. Of equal names the
// first matches the first, the second the second.
func matchNames(old, to []string) []int32 {
	at := map[string][]int32{}
	for i, name := range to {
		at[name] = append(at[name], int32(i))
	}
	list := make([]int32, len(old))
	for i, name := range old {
		list[i] = None
		if found := at[name]; len(found) > 0 {
			list[i], at[name] = found[0], found[1:]
		}
	}
	return list
}

func (r *Reload) matchGroups() {
	r.groups = matchNames(namesOf(r.old.Groups, groupName), namesOf(r.prog.Groups, groupName))
	var lacking []Group
	for i, j := range r.groups {
		g := &r.old.Groups[i]
		r.reportMissing(j, "group %q", g.Name)
		if j != None || len(r.prog.Groups)+len(lacking) >= MaxGroups {
			continue
		}
		var heads []int32
		for _, h := range g.Heads {
			if r.heads[h] != None {
				heads = append(heads, r.heads[h])
			}
		}
		if len(heads) == 0 && len(g.Heads) > 0 {
			continue // its heads are gone with it
		}
		r.groups[i] = int32(len(r.prog.Groups) + len(lacking))
		lacking = append(lacking, Group{g.Name, heads})
	}
	if lacking != nil {
		p := *r.prog
		p.Groups = append(slices.Clip(p.Groups), lacking...)
		r.prog = &p
	}
}

// matchPlaces matches places in the set list. A song that is gone has the place
// before the song that followed it.
func (r *Reload) matchPlaces() {
	name := func(p *Program) (list []string) {
		for _, s := range p.SetList {
			list = append(list, p.Songs[s].Name)
		}
		return list
	}
	r.places = matchNames(name(r.old), name(r.prog))
	next := int32(len(r.prog.SetList))
	for i := len(r.places) - 1; i >= 0; i-- {
		if r.places[i] == None {
			r.places[i] = next - 1
		} else {
			next = r.places[i]
		}
	}
}

// sectionMap matches the sections of a song, by old index.
type sectionMap struct {
	sections []int32 // new index, or None
	nextKept []int32 // old index of the first section from here on that has a new one, or None
}

func (r *Reload) mapSections(song, to int32) sectionMap {
	old := &r.old.Songs[song]
	if to == None {
		r.reportMissing(None, "song %q", old.Name)
		return sectionMap{}
	}
	p := sectionMap{sections: matchNames(namesOf(old.Sections, sectionName), namesOf(r.prog.Songs[to].Sections, sectionName))}
	p.nextKept = make([]int32, len(p.sections))
	next := None
	for i := len(p.sections) - 1; i >= 0; i-- {
		if p.sections[i] != None {
			next = int32(i)
		}
		p.nextKept[i] = next
	}
	for i, j := range p.sections {
		r.reportMissing(j, "section %q of %q", old.Sections[i].Name, old.Name)
	}
	return p
}

// samePatch compares patches by the names of fixtures, in any order.
func samePatch(old, to *Program) error {
	var errs []error
	if !slices.Equal(old.Universes, to.Universes) || old.Patch.Universes() != to.Patch.Universes() {
		errs = append(errs, fmt.Errorf("%w: the universes have changed", ErrRestart))
	}
	if err := sameInputs(old, to); err != nil {
		errs = append(errs, err)
	}
	was := map[string]fixtures.Placement{}
	for _, f := range old.Patch.Placements() {
		was[f.Name] = f
	}
	for _, f := range to.Patch.Placements() {
		before, known := was[f.Name]
		delete(was, f.Name)
		before.Head = f.Head
		switch {
		case !known:
			errs = append(errs, fmt.Errorf("%w: fixture %q is new", ErrRestart, f.Name))
		case !reflect.DeepEqual(before, f):
			errs = append(errs, fmt.Errorf("%w: fixture %q has another address, profile or travel", ErrRestart, f.Name))
		}
	}
	for _, f := range old.Patch.Placements() {
		if _, left := was[f.Name]; left {
			errs = append(errs, fmt.Errorf("%w: fixture %q is gone", ErrRestart, f.Name))
		}
	}
	heads, now := namesOf(old.Heads, headName), namesOf(to.Heads, headName)
	slices.Sort(heads)
	slices.Sort(now)
	if errs == nil && !slices.Equal(heads, now) {
		errs = append(errs, fmt.Errorf("%w: heads have other names", ErrRestart))
	}
	return errors.Join(errs...)
}

func sameInputs(old, to *Program) error {
	if slices.Equal(namesOf(old.LevelInputs, inputName), namesOf(to.LevelInputs, inputName)) {
		return nil
	}
	return fmt.Errorf("%w: the inputs have changed", ErrRestart)
}
