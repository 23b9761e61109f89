package compose

import (
	"fmt"
	"slices"

	"tactus/shows"
	"tactus/shows/language"
)

// SetOrder sets the songs of a set, in order.
type SetOrder struct {
	Set   string   `json:"set"`   // its file, such as sets/november.yaml
	Songs []string `json:"songs"` // by name, or by file name without .yaml
}

// Do returns "set order".
func (e *SetOrder) Do() string { return "set order" }

// Words says what the edit does.
func (e *SetOrder) Words() string {
	return fmt.Sprintf("order of the %s of %s", language.Count(len(e.Songs), "song"), e.Set)
}

func (e *SetOrder) edit(f *files) error {
	now, err := f.texts(e.Set, place{"songs"})
	if err != nil {
		return err
	}
	if len(e.Songs) == 0 {
		return refuse(e.Set, 0, "the set would have no song", "at least one; remove the set instead")
	}
	return f.setList(e.Set, place{"songs"}, asWritten(e.Songs, now, songNames(f)))
}

// songNames returns by name and by file name without .yaml the file of each song.
func songNames(f *files) map[string]string {
	names := map[string]string{}
	for _, file := range f.names(language.SongFile) {
		names[shows.StemOf(file)] = file
		if song, err := f.file(file); err == nil {
			if name := song.Root.Get("song").Word(); name != "" {
				names[name] = file
			}
		}
	}
	return names
}

// asWritten returns the songs with the words that the set has for the same songs now.
func asWritten(songs, now []string, fileOf map[string]string) (list []string) {
	for _, s := range songs {
		if i := slices.IndexFunc(now, func(n string) bool { return n == s || fileOf[n] != "" && fileOf[n] == fileOf[s] }); i >= 0 {
			s = now[i]
		}
		list = append(list, s)
	}
	return list
}

// SetSetLook sets the look that a set has for a moment outside songs.
type SetSetLook struct {
	Set    string `json:"set"`
	Moment string `json:"moment"` // walk-in, walk-out, talk or pad
	Look   Value  `json:"look"`   // a look's name; null: none
}

// Do returns "set set look".
func (e *SetSetLook) Do() string { return "set set look" }

// Words says what the edit does.
func (e *SetSetLook) Words() string {
	return fmt.Sprintf("look %v for %s in %s", e.Look, e.Moment, e.Set)
}

func (e *SetSetLook) edit(f *files) error {
	if moments := []string{"walk-in", "walk-out", "talk", "pad"}; !slices.Contains(moments, e.Moment) {
		return unknownName(e.Set, "moment", "moments", e.Moment, moments)
	}
	return f.set(e.Set, place{e.Moment}, e.Look)
}

// RenameSet gives a set another name. Its file keeps its own.
type RenameSet struct {
	Set string `json:"set"`
	To  string `json:"to"`
}

// Do returns "rename set".
func (e *RenameSet) Do() string { return "rename set" }

// Words says what the edit does.
func (e *RenameSet) Words() string { return fmt.Sprintf("name %q for %s", e.To, e.Set) }

func (e *RenameSet) edit(f *files) error { return f.set(e.Set, place{"set"}, Text(e.To)) }

// AddSet adds a set in a file of its own.
type AddSet struct {
	Set   string   `json:"set"`   // its file, such as sets/december.yaml, which must not exist
	Name  string   `json:"name"`  // the name of the night
	Songs []string `json:"songs"` // by name, or by file name without .yaml
}

// Do returns "add set".
func (e *AddSet) Do() string { return "add set" }

// Words says what the edit does.
func (e *AddSet) Words() string { return fmt.Sprintf("new set %q in %s", e.Name, e.Set) }

func (e *AddSet) edit(f *files) error {
	if err := f.needNewFile(e.Set, language.SetFile); err != nil {
		return err
	}
	f.put(e.Set, fmt.Appendf(nil, "set: %s\nsongs: %v\n", scalar(e.Name), Texts(e.Songs)))
	return nil
}

// RemoveSet removes a set with its file.
type RemoveSet struct {
	Set string `json:"set"`
}

// Do returns "remove set".
func (e *RemoveSet) Do() string { return "remove set" }

// Words says what the edit does.
func (e *RemoveSet) Words() string { return "removing " + e.Set }

func (e *RemoveSet) edit(f *files) error {
	if _, err := f.source(e.Set); err != nil {
		return err
	}
	if kind, _ := language.KindOf(e.Set); kind != language.SetFile {
		return refuse(e.Set, 0, "this file is not a set", "want sets/NAME.yaml")
	}
	f.remove(e.Set)
	return nil
}
