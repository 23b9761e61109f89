package compose

import (
	"bytes"
	"fmt"

	"tactus/shows/language"
)

// AddProfile adds a fixture type to the show, in a file of its own.
type AddProfile struct {
	Profile string `json:"profile"` // its name: letters, digits, spaces, - and _
	Text    string `json:"text"`    // the file, as docs/rig.md has profiles
}

// Do returns "add profile".
func (e *AddProfile) Do() string { return "add profile" }

// Words says what the edit does.
func (e *AddProfile) Words() string { return fmt.Sprintf("new profile %q", e.Profile) }

func (e *AddProfile) edit(f *files) error {
	name := "profiles/" + e.Profile + ".yaml"
	if now, there := f.sources[name]; there && bytes.Equal(now, []byte(e.Text)) {
		return nil
	}
	if err := f.needNewFile(name, language.ProfileFile); err != nil {
		return err
	}
	f.put(name, []byte(e.Text))
	return nil
}

// BeginShow gives the show other files, as those that were made for what hangs in a hall.
// Files that it does not have stay as they are. It is not made from JSON.
type BeginShow struct {
	Venue string
	Files map[string][]byte // by path inside the folder
}

// Do returns "begin show".
func (e *BeginShow) Do() string { return "begin show" }

// Words says what the edit does.
func (e *BeginShow) Words() string {
	return fmt.Sprintf("a rig, looks and a first song for %s", e.Venue)
}

func (e *BeginShow) edit(f *files) error {
	for name, src := range e.Files {
		if kind, known := language.KindOf(name); known && kind != "" {
			f.put(name, src)
		}
	}
	return nil
}
