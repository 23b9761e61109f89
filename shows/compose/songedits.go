package compose

import (
	"fmt"
	"slices"

	"tactus/shows/language"
)

// SetSection sets a key of a section. Where its light is a cue of the list of cues that
// stands at its first beat, that light is changed: see [sectionLight].
type SetSection struct {
	Song    string `json:"song"`
	Section int    `json:"section"`
	Key     string `json:"key"` // look, effects, fade, colour fade, set, build, loop, spoken, sung, climb, note, tempo, meter or send
	To      Value  `json:"to"`  // null takes it away
}

// Do returns "set section".
func (e *SetSection) Do() string { return "set section" }

// Words says what the edit does.
func (e *SetSection) Words() string {
	return fmt.Sprintf("%s of section %d of %s: %s", e.Key, e.Section+1, e.Song, language.Shorten(e.To.String()))
}

func (e *SetSection) edit(f *files) error {
	at, err := sectionPlace(f, e.Song, e.Section)
	if err != nil {
		return err
	}
	if slices.Contains([]string{"bars", "energy"}, e.Key) {
		return refuse(e.Song, 0, fmt.Sprintf("%q is set by an edit of its own", e.Key), `"set bars" or "set energy"`)
	}
	if slices.Contains(lightKeys(), e.Key) {
		if at, err = sectionLight(f, e.Song, e.Section, at, place{e.Key}, e.To); err != nil {
			return err
		}
	}
	return setLight(f, e.Song, at, e.Key, e.To)
}

// SetSectionLevel sets a level that a section gives to a group or fixture, in place of the
// look's. It finds the light as [SetSection] does.
type SetSectionLevel struct {
	Song    string `json:"song"`
	Section int    `json:"section"`
	On      string `json:"on"`    // a group, a fixture or a range of fixtures
	Level   string `json:"level"` // intensity, colour, uv, strobe, pan, tilt, haze or fan
	To      Value  `json:"to"`    // such as "40 %"; null takes it away
}

// Do returns "set section level".
func (e *SetSectionLevel) Do() string { return "set section level" }

// Words says what the edit does.
func (e *SetSectionLevel) Words() string {
	return fmt.Sprintf("%s of %s in section %d of %s: %s", e.Level, e.On, e.Section+1, e.Song, language.Shorten(e.To.String()))
}

func (e *SetSectionLevel) edit(f *files) error {
	at, err := sectionPlace(f, e.Song, e.Section)
	if err != nil {
		return err
	}
	if at, err = sectionLight(f, e.Song, e.Section, at, place{"set", e.On, e.Level}, e.To); err != nil {
		return err
	}
	if err := setLevel(f, e.Song, at, e.On, e.Level, e.To); err != nil || e.To.given {
		return err
	}
	return removeIdleFade(f, e.Song, at)
}

// setLevel sets or takes away a level under the key "set" of a section or a look. A group
// without levels goes away, and so does "set" without groups.
func setLevel(f *files, file string, at place, on, level string, to Value) error {
	if to.given {
		return f.set(file, at.under("set", on, level), to)
	}
	return f.prune(file, at.under("set", on, level), len(at)+1)
}

// SetSong sets a key of a song.
type SetSong struct {
	Song string `json:"song"`
	Key  string `json:"key"` // tempo, meter, character, deep colours, after the end or program
	To   Value  `json:"to"`  // such as "72 bpm"; null takes it away
}

// Do returns "set song".
func (e *SetSong) Do() string { return "set song" }

// Words says what the edit does.
func (e *SetSong) Words() string {
	return fmt.Sprintf("%s of %s: %s", e.Key, e.Song, language.Shorten(e.To.String()))
}

func (e *SetSong) edit(f *files) error {
	if err := needSong(f, e.Song); err != nil {
		return err
	}
	if keys := []string{"tempo", "meter", "character", "deep colours", "after the end", "program"}; !slices.Contains(keys, e.Key) {
		return unknownName(e.Song, "key", "keys", e.Key, keys)
	}
	now, err := f.node(e.Song, place{e.Key})
	if err == nil && now == nil && e.Key == "program" && e.To.given {
		return f.add(e.Song, nil, e.Key, e.To, "song") // beside the name that it stands for
	}
	if err != nil {
		return err
	}
	return f.set(e.Song, place{e.Key}, e.To)
}

// SetColour sets a colour of a song's palette.
type SetColour struct {
	Song string `json:"song"`
	Role string `json:"role"` // main, second, accent or warm
	To   Value  `json:"to"`   // such as "#2f6fd0"; null takes it away
}

// Do returns "set colour".
func (e *SetColour) Do() string { return "set colour" }

// Words says what the edit does.
func (e *SetColour) Words() string {
	return fmt.Sprintf("the colour %s of %s: %s", e.Role, e.Song, language.Shorten(e.To.String()))
}

func (e *SetColour) edit(f *files) error {
	if err := needSong(f, e.Song); err != nil {
		return err
	}
	if !e.To.given {
		return f.prune(e.Song, place{"palette", e.Role}, 1)
	}
	return f.set(e.Song, place{"palette", e.Role}, e.To)
}

// RenameSong gives a song another name. Sets that have it by its name follow.
type RenameSong struct {
	Song string `json:"song"`
	To   string `json:"to"`
}

// Do returns "rename song".
func (e *RenameSong) Do() string { return "rename song" }

// Words says what the edit does.
func (e *RenameSong) Words() string { return fmt.Sprintf("%s called %q", e.Song, e.To) }

func (e *RenameSong) edit(f *files) error {
	if err := needSong(f, e.Song); err != nil {
		return err
	}
	node, err := f.node(e.Song, place{"song"})
	if err != nil {
		return err
	}
	if node == nil {
		return refuse(e.Song, 0, "the song has no name", "correct the file first")
	}
	was := node.Value
	if err := f.set(e.Song, place{"song"}, Text(e.To)); err != nil {
		return err
	}
	for _, set := range f.names(language.SetFile) {
		songs, err := f.texts(set, place{"songs"})
		if err != nil {
			continue // it cannot be read; the loader says so
		}
		for i, name := range songs {
			if name != was {
				continue
			}
			if err := f.replace(set, place{"songs", i}, Text(e.To)); err != nil {
				return err
			}
		}
	}
	return nil
}
