package compose

import (
	"fmt"
	"slices"
	"strings"

	"tactus/shows"
	"tactus/shows/language"
)

// RenameLook renames a look, and follows it through all files.
type RenameLook struct {
	Look string `json:"look"`
	To   string `json:"to"`
}

// Do returns "rename look".
func (e *RenameLook) Do() string { return "rename look" }

// Words says what the edit does.
func (e *RenameLook) Words() string {
	return fmt.Sprintf("%q as the name of the look %q", e.To, e.Look)
}

func (e *RenameLook) edit(f *files) error {
	return renameNamed(f, looksFile, "looks", "look", e.Look, e.To, lookNames)
}

// RenameEffect renames an effect, and follows it through all files.
type RenameEffect struct {
	Effect string `json:"effect"`
	To     string `json:"to"`
}

// Do returns "rename effect".
func (e *RenameEffect) Do() string { return "rename effect" }

// Words says what the edit does.
func (e *RenameEffect) Words() string {
	return fmt.Sprintf("%q as the name of the effect %q", e.To, e.Effect)
}

func (e *RenameEffect) edit(f *files) error {
	return renameNamed(f, looksFile, "effects", "effect", e.Effect, e.To, effectNames)
}

// RenameGroup renames a group, and follows it through all files.
type RenameGroup struct {
	Group string `json:"group"`
	To    string `json:"to"`
}

// Do returns "rename group".
func (e *RenameGroup) Do() string { return "rename group" }

// Words says what the edit does.
func (e *RenameGroup) Words() string {
	return fmt.Sprintf("%q as the name of the group %q", e.To, e.Group)
}

func (e *RenameGroup) edit(f *files) error {
	return renameNamed(f, rigFile, "groups", "group", e.Group, e.To, targetNames)
}

// renameNamed renames an entry of a mapping of a file, and all that uses it.
func renameNamed(f *files, file, mapping, what, name, to string, n namespace) error {
	if err := needNew(f, file, mapping, what, name, to); err != nil {
		return err
	}
	return f.rename(n, place{mapping, name}, file, to, func(text string) (string, error) {
		if text == name {
			return to, nil
		}
		return text, nil
	})
}

// needNew returns an error unless a mapping has one name and lacks the other.
func needNew(f *files, file, mapping, what, name, to string) error {
	if err := f.needKey(file, place{mapping}, what, name); err != nil {
		return err
	}
	names, err := f.keys(file, place{mapping})
	if err != nil {
		return err
	}
	if slices.Contains(names, to) {
		return taken(file, what, to)
	}
	if mapping == "groups" { // which share their names with fixtures
		fixtures, err := f.keys(file, place{"fixtures"})
		if err != nil {
			return err
		}
		for _, entry := range fixtures {
			if slices.Contains(fixturesOf(entry), to) {
				return taken(file, "fixture", to)
			}
		}
	}
	return nil
}

// RenameFixture renames a fixture, or a range of them to another range of as many, and
// follows it through all files.
type RenameFixture struct {
	Fixture string `json:"fixture"` // as the rig file names it: "hazer", or "wash 1-4"
	To      string `json:"to"`      // such as "spot 1-4"
}

// Do returns "rename fixture".
func (e *RenameFixture) Do() string { return "rename fixture" }

// Words says what the edit does.
func (e *RenameFixture) Words() string {
	return fmt.Sprintf("%q as the name of %q", e.To, e.Fixture)
}

func (e *RenameFixture) edit(f *files) error {
	if err := needFixture(f, e.Fixture); err != nil {
		return err
	}
	if err := needNew(f, rigFile, "fixtures", "fixture", e.Fixture, e.To); err != nil {
		return err
	}
	from, to := fixturesOf(e.Fixture), fixturesOf(e.To)
	if len(from) != len(to) {
		return refuse(rigFile, 0, fmt.Sprintf("%q stands for %s, and %q for %d", language.Shorten(e.Fixture), language.Count(len(from), "fixture"), language.Shorten(e.To), len(to)),
			"give the range as many numbers")
	}
	renamed := map[string]string{}
	for i := range from {
		renamed[from[i]] = to[i]
	}
	return f.rename(targetNames, place{"fixtures", e.Fixture}, rigFile, e.To, func(text string) (string, error) {
		if text == e.Fixture {
			return e.To, nil
		}
		return renamedTarget(text, renamed)
	})
}

// renamedTarget returns what a target is called after fixtures were renamed: a range must
// stay one that counts upwards.
func renamedTarget(text string, renamed map[string]string) (string, error) {
	base, head := shows.CutHead(text)
	names := fixturesOf(base)
	changed := 0
	for i, n := range names {
		if to, ok := renamed[n]; ok {
			names[i] = to
			changed++
		}
	}
	if changed == 0 {
		return text, nil
	}
	if len(names) == 1 {
		return names[0] + head, nil
	}
	if ranges := rangeOf(names); ranges != "" {
		return ranges, nil
	}
	return "", fmt.Errorf("the range %q would no longer be one: %s", language.Shorten(text), strings.Join(language.Ranges(names), ", "))
}

// rangeOf returns the range that stands for fixtures, or "".
func rangeOf(names []string) string {
	first, last := names[0], names[len(names)-1]
	at := strings.LastIndexByte(first, ' ')
	if at < 0 || !strings.HasPrefix(last, first[:at+1]) {
		return ""
	}
	name := first + "-" + last[at+1:]
	if !slices.Equal(fixturesOf(name), names) {
		return ""
	}
	return name
}

// fixturesOf returns the fixtures that a name stands for. A name that is not a valid range
// stands for itself.
func fixturesOf(name string) []string {
	names, err := shows.FixtureNames(name)
	if err != nil {
		return []string{name}
	}
	return names
}

func withoutHead(name string) string {
	fixture, _ := shows.CutHead(name)
	return fixture
}
