package compose

import (
	"fmt"

	"tactus/shows/language"
)

// CopyLookForSong adds a copy of a look under another name, behind it, and lets one song
// use the copy in its place.
type CopyLookForSong struct {
	Look string `json:"look"`
	To   string `json:"to"`
	Song string `json:"song"` // file
}

// Do returns "copy look for song".
func (e *CopyLookForSong) Do() string { return "copy look for song" }

// Words says what the edit does.
func (e *CopyLookForSong) Words() string {
	return fmt.Sprintf("look %q as a copy of %q for %s", e.To, e.Look, e.Song)
}

func (e *CopyLookForSong) edit(f *files) error {
	if err := needSong(f, e.Song); err != nil {
		return err
	}
	if err := copyNamed(f, looksFile, "looks", "look", e.Look, e.To); err != nil {
		return err
	}
	return useInstead(f, e.Song, "look", e.Look, e.To, lookNames)
}

// useInstead lets a song use one name in place of another, wherever it does.
func useInstead(f *files, song, what, name, to string, n namespace) error {
	root, err := f.tree(song)
	if err != nil {
		return err
	}
	before, used := f.sources[song], false
	for _, u := range usesIn(root, language.SongFile, n) {
		if u.text != name {
			continue
		}
		used = true
		if err := f.replace(song, u.at, Text(to)); err != nil {
			return err
		}
	}
	if !used {
		return refuse(song, 0, fmt.Sprintf("the song does not use the %s %q", what, language.Shorten(name)), "copy it without a song")
	}
	f.put(song, sealedAgain(before, f.sources[song]))
	return nil
}
