package compose

import (
	"fmt"

	"tactus/shows/language"
)

// AcceptFinding accepts a finding of check in a song, with the reason.
type AcceptFinding struct {
	Song    string `json:"song"`         // its file
	Finding string `json:"finding"`      // as check names it, such as "flat"
	In      string `json:"in,omitempty"` // the section, such as "chorus 2"; the whole song without it
	Because string `json:"because"`
}

// Do returns "accept finding".
func (e *AcceptFinding) Do() string { return "accept finding" }

// Words says what the edit does.
func (e *AcceptFinding) Words() string { return fmt.Sprintf("accepting %q in %s", e.Finding, e.Song) }

func (e *AcceptFinding) edit(f *files) error {
	if err := needSong(f, e.Song); err != nil {
		return err
	}
	v := object("finding", Text(e.Finding))
	if e.In != "" {
		v.put("in", Text(e.In))
	}
	v.put("because", Text(e.Because))
	n, err := f.count(e.Song, place{"accepted"})
	if err != nil {
		return err
	}
	if n == 0 {
		return f.set(e.Song, place{"accepted"}, Value{given: true, isList: true, list: []Value{v}})
	}
	return f.insert(e.Song, place{"accepted"}, n, v)
}

// needSong returns an error unless there is a song's file of this name.
func needSong(f *files, name string) error {
	if kind, _ := language.KindOf(name); kind != language.SongFile {
		return unknownName(name, "song file", "songs", name, f.names(language.SongFile))
	}
	_, err := f.source(name)
	return err
}

// UnacceptFinding takes back that a finding is accepted.
type UnacceptFinding struct {
	Song     string `json:"song"`
	Accepted int    `json:"accepted"` // its index under "accepted" in the song's file, from 0
}

// Do returns "unaccept finding".
func (e *UnacceptFinding) Do() string { return "unaccept finding" }

// Words says what the edit does.
func (e *UnacceptFinding) Words() string {
	return fmt.Sprintf("no longer accepting finding %d of %s", e.Accepted+1, e.Song)
}

func (e *UnacceptFinding) edit(f *files) error {
	if err := needSong(f, e.Song); err != nil {
		return err
	}
	n, err := f.count(e.Song, place{"accepted"})
	switch {
	case err != nil:
		return err
	case e.Accepted < 0 || e.Accepted >= n:
		return noSuch(e.Song, "accepted finding", e.Accepted, n)
	}
	return f.prune(e.Song, place{"accepted", e.Accepted}, 1)
}
