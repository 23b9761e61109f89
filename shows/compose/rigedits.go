package compose

import (
	"fmt"
	"math"
	"slices"
	"strconv"

	"tactus/shows"
	"tactus/shows/language"
)

// rigFile is the file of the rig.
const rigFile = "rig.yaml"

// SetAddress sets the start address of a fixture, and its universe where one is given. The
// fixtures of a range follow one another from there.
type SetAddress struct {
	Fixture  string `json:"fixture"` // as the rig file names it: "hazer", or a range such as "wash 1-4"
	Address  int    `json:"address"` // 1 to 512
	Universe string `json:"universe,omitempty"`
}

// Do returns "set address".
func (e *SetAddress) Do() string { return "set address" }

// Words says what the edit does.
func (e *SetAddress) Words() string {
	if e.Universe != "" {
		return fmt.Sprintf("%s to universe %s, address %d", e.Fixture, e.Universe, e.Address)
	}
	return fmt.Sprintf("%s to address %d", e.Fixture, e.Address)
}

func (e *SetAddress) edit(f *files) error {
	if err := setFixture(f, e.Fixture, "address", Number(e.Address)); err != nil || e.Universe == "" {
		return err
	}
	return setFixture(f, e.Fixture, "universe", Text(e.Universe))
}

// FindAddresses gives each fixture without a start address the first slots of its universe
// that are free.
type FindAddresses struct{}

// Do returns "find addresses".
func (e *FindAddresses) Do() string { return "find addresses" }

// Words says what the edit does.
func (e *FindAddresses) Words() string { return "addresses for fixtures without one" }

func (e *FindAddresses) edit(f *files) error {
	src, err := f.source(rigFile)
	if err != nil {
		return err
	}
	list, problems, err := shows.Propose(src)
	switch {
	case len(problems) > 0:
		return problems
	case err != nil:
		return refuse(rigFile, 0, err.Error(), "")
	}
	for _, p := range list {
		if err := f.add(rigFile, place{"fixtures", p.Fixture}, "address", Number(p.Address), "universe"); err != nil {
			return err
		}
	}
	return nil
}

// setFixture sets or takes away a key of a fixture.
func setFixture(f *files, fixture, key string, to Value) error {
	if err := needFixture(f, fixture); err != nil {
		return err
	}
	return f.set(rigFile, place{"fixtures", fixture, key}, to)
}

// needFixture returns an error unless the rig file has an entry of this name. If the fixture
// is one of a range, the error names the range.
func needFixture(f *files, fixture string) error {
	err := f.needKey(rigFile, place{"fixtures"}, "fixture", fixture)
	if err == nil {
		return nil
	}
	entries, _ := f.keys(rigFile, place{"fixtures"})
	for _, entry := range entries {
		if slices.Contains(fixturesOf(entry), fixture) {
			return refuse(rigFile, 0, fmt.Sprintf("%q is one of %q, which are written together", language.Shorten(fixture), entry),
				fmt.Sprintf("edit %q, or split it first", entry))
		}
	}
	return err
}

// SetPlace sets where a fixture hangs: one place, or two between which the heads of a range
// are spaced evenly.
type SetPlace struct {
	Fixture string    `json:"fixture"`
	At      []float64 `json:"at,omitempty"`   // metres: to house right, to the back, up
	From    []float64 `json:"from,omitempty"` // of the first head
	To      []float64 `json:"to,omitempty"`   // of the last head
}

// Do returns "set place".
func (e *SetPlace) Do() string { return "set place" }

// Words says what the edit does.
func (e *SetPlace) Words() string {
	if e.At != nil {
		return fmt.Sprintf("%s to %v", e.Fixture, metres(e.At))
	}
	return fmt.Sprintf("%s from %v to %v", e.Fixture, metres(e.From), metres(e.To))
}

func (e *SetPlace) edit(f *files) error {
	if (e.At == nil) == (e.From == nil) || (e.From == nil) != (e.To == nil) {
		return refuse(rigFile, 0, "a place is missing or surplus", `give "at", or "from" and "to"`)
	}
	places := []struct {
		key string
		at  []float64
	}{{"at", e.At}, {"from", e.From}, {"to", e.To}}
	for _, p := range places {
		if p.at != nil && len(p.at) != 3 {
			return refuse(rigFile, 0, fmt.Sprintf("%q has %s", p.key, language.Count(len(p.at), "number")), "want three, in metres: to house right, to the back, up")
		}
	}
	for _, p := range places {
		v := metres(p.at)
		v.given = p.at != nil
		if err := setFixture(f, e.Fixture, p.key, v); err != nil {
			return err
		}
	}
	return nil
}

// metres writes a place as files do, to the nearest millimetre.
func metres(at []float64) Value {
	var texts []string
	for _, m := range at {
		m = math.Round(m*1000) / 1000
		texts = append(texts, strconv.FormatFloat(m+0, 'f', -1, 64)+" m")
	}
	return Texts(texts)
}

// SetFixture sets a key of a fixture.
type SetFixture struct {
	Fixture string `json:"fixture"`
	Key     string `json:"key"` // profile, universe, address, every, watts, circuit, pan or tilt
	To      Value  `json:"to"`  // such as "dimmer-rgb", 8, "180 W" or {"from": "10 %", "to": "90 %"}; null takes the key away
}

// Do returns "set fixture".
func (e *SetFixture) Do() string { return "set fixture" }

// Words says what the edit does.
func (e *SetFixture) Words() string { return fmt.Sprintf("%s of %v for %s", e.Key, e.To, e.Fixture) }

func (e *SetFixture) edit(f *files) error { return setFixture(f, e.Fixture, e.Key, e.To) }

// AddFixture adds a fixture, or a range of them.
type AddFixture struct {
	Fixture string `json:"fixture"`
	Values  Value  `json:"values"` // its keys: {"profile": "dimmer-rgb", "universe": "stage", "address": 21, "at": ["0 m", "5 m", "4 m"]}
	After   string `json:"after,omitempty"`
}

// Do returns "add fixture".
func (e *AddFixture) Do() string { return "add fixture" }

// Words says what the edit does.
func (e *AddFixture) Words() string { return fmt.Sprintf("new fixture %q", e.Fixture) }

func (e *AddFixture) edit(f *files) error {
	return addNamed(f, rigFile, "fixtures", "fixture", e.Fixture, e.After, e.Values)
}

// RemoveFixture removes a fixture, or a range of them, that nothing names.
type RemoveFixture struct {
	Fixture    string `json:"fixture"`
	FromGroups bool   `json:"from groups,omitempty"` // takes it out of the rig file's groups and lists first
}

// Do returns "remove fixture".
func (e *RemoveFixture) Do() string { return "remove fixture" }

// Words says what the edit does.
func (e *RemoveFixture) Words() string { return fmt.Sprintf("removing the fixture %q", e.Fixture) }

func (e *RemoveFixture) edit(f *files) error {
	if err := needFixture(f, e.Fixture); err != nil {
		return err
	}
	if e.FromGroups {
		if err := e.leave(f); err != nil {
			return err
		}
	}
	if uses := f.uses(targetNames, usesOneOf(fixturesOf(e.Fixture))); len(uses) > 0 {
		return refuse(rigFile, 0, fmt.Sprintf("the fixture %q is used: %s", language.Shorten(e.Fixture), listUses(uses)), "remove it there first")
	}
	return f.removeKey(rigFile, place{"fixtures", e.Fixture})
}

// leave takes the fixture out of groups and lists of the rig file, and removes those that
// nothing else is in.
func (e *RemoveFixture) leave(f *files) error {
	groups, err := f.keys(rigFile, place{"groups"})
	if err != nil {
		return err
	}
	own := fixturesOf(e.Fixture)
	for i, name := range append(groups, language.RigLists()...) {
		at := place{"groups", name}
		if i >= len(groups) {
			at = place{name}
		}
		now, err := f.texts(rigFile, at)
		if err != nil {
			return err
		}
		left := slices.DeleteFunc(slices.Clone(now), func(name string) bool {
			return !slices.ContainsFunc(fixturesOf(withoutHead(name)), func(n string) bool { return !slices.Contains(own, n) })
		})
		switch {
		case len(left) == len(now):
		case len(left) > 0:
			err = setNames(f, at, left)
		case len(at) == 1:
			err = f.set(rigFile, at, Value{})
		default:
			err = (&RemoveGroup{name}).edit(f)
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// SetGroup sets the members of a group, and adds it if there is none of that name.
type SetGroup struct {
	Group   string   `json:"group"`
	Members []string `json:"members"` // groups, fixtures, ranges or heads, in order
}

// Do returns "set group".
func (e *SetGroup) Do() string { return "set group" }

// Words says what the edit does.
func (e *SetGroup) Words() string {
	return fmt.Sprintf("%s in the group %q", language.Count(len(e.Members), "name"), e.Group)
}

func (e *SetGroup) edit(f *files) error { return setNames(f, place{"groups", e.Group}, e.Members) }

// setNames sets one name or a list of names in the rig file.
func setNames(f *files, at place, names []string) error {
	now, err := f.texts(rigFile, at)
	switch {
	case err != nil:
		return err
	case len(names) == 0:
		return refuse(rigFile, 0, "the list of groups and fixtures is empty", "at least one name")
	case len(names) == 1 || len(now) < 2:
		return f.set(rigFile, at, namesValue(names))
	}
	return f.setList(rigFile, at, names)
}

// RemoveGroup removes a group that nothing names.
type RemoveGroup struct {
	Group string `json:"group"`
}

// Do returns "remove group".
func (e *RemoveGroup) Do() string { return "remove group" }

// Words says what the edit does.
func (e *RemoveGroup) Words() string { return fmt.Sprintf("removing the group %q", e.Group) }

func (e *RemoveGroup) edit(f *files) error {
	return removeNamed(f, rigFile, "groups", "group", e.Group, targetNames)
}

// SetRigList sets which groups and fixtures are kept in songs, spared by blackout, and so
// on.
type SetRigList struct {
	List string   `json:"list"` // keep, blackout spares, house lights, work light or faces audience
	To   []string `json:"to"`   // groups, fixtures, ranges or heads; an empty list takes the key away
}

// Do returns "set rig list".
func (e *SetRigList) Do() string { return "set rig list" }

// Words says what the edit does.
func (e *SetRigList) Words() string {
	return fmt.Sprintf("%s under %q", language.Count(len(e.To), "name"), e.List)
}

func (e *SetRigList) edit(f *files) error {
	if !slices.Contains(language.RigLists(), e.List) {
		return unknownName(rigFile, "list", "lists", e.List, language.RigLists())
	}
	if len(e.To) == 0 {
		return f.set(rigFile, place{e.List}, Value{})
	}
	return setNames(f, place{e.List}, e.To)
}
