package compose

import (
	"fmt"
	"slices"
	"strings"

	"github.com/rogpeppe/go-internal/diff"

	"tactus/shows/draft"
	"tactus/shows/position"
)

// DraftSong writes the cues of a song from its sections and energies, as package draft has
// it. What people wrote stays.
type DraftSong struct {
	Song string `json:"song"`
	// Sections are those that are drafted, by their index in the file, from 0; the drafted
	// lines of others stay as they are. Without it the whole song is drafted.
	Sections []int `json:"sections,omitempty"`
}

// Do returns "draft song".
func (e *DraftSong) Do() string { return "draft song" }

// Words says what the edit does.
func (e *DraftSong) Words() string { return "draft of " + partsOf(e.Song, e.Sections) }

// partsOf names a song, or some of its sections.
func partsOf(song string, sections []int) string {
	if len(sections) == 0 {
		return song
	}
	var numbers []string
	for _, i := range sections {
		numbers = append(numbers, fmt.Sprint(i+1))
	}
	if len(numbers) == 1 {
		return fmt.Sprintf("section %s of %s", numbers[0], song)
	}
	return fmt.Sprintf("sections %s of %s", strings.Join(numbers, ", "), song)
}

func (e *DraftSong) edit(f *files) error {
	if err := needSong(f, e.Song); err != nil {
		return err
	}
	d, err := f.drafts.of(f.sources, f.unread, e.Song)
	if err != nil {
		return err
	}
	out := d.Source
	if len(e.Sections) > 0 {
		if err := needSections(f, e.Song, e.Sections); err != nil {
			return err
		}
		if out, err = d.For(e.Sections); err != nil {
			return err
		}
	}
	f.put(e.Song, out)
	return nil
}

// needSections returns an error unless a song has sections of all these indexes.
func needSections(f *files, song string, sections []int) error {
	t, err := timelineOf(f, song)
	if err != nil {
		return err
	}
	for _, i := range sections {
		if _, err := t.section(song, i); err != nil {
			return err
		}
	}
	return nil
}

// ClearDraft takes drafted lines out of a song that nobody has changed.
type ClearDraft struct {
	Song     string `json:"song"`
	Sections []int  `json:"sections,omitempty"` // as in DraftSong
}

// Do returns "clear draft".
func (e *ClearDraft) Do() string { return "clear draft" }

// Words says what the edit does.
func (e *ClearDraft) Words() string {
	return "drafted lines taken out of " + partsOf(e.Song, e.Sections)
}

func (e *ClearDraft) edit(f *files) error {
	if err := needSong(f, e.Song); err != nil {
		return err
	}
	src, err := f.source(e.Song)
	if err != nil {
		return err
	}
	out, n := draft.Clear(src)
	if len(e.Sections) > 0 {
		t, err := timelineOf(f, e.Song)
		if err != nil {
			return err
		}
		if err := needSections(f, e.Song, e.Sections); err != nil {
			return err
		}
		out, n = draft.ClearAt(src, func(at string) bool { return slices.Contains(e.Sections, position.Named(&t.song, at)) })
	}
	if n > 0 {
		f.put(e.Song, out)
	}
	return nil
}

// Drafted is a draft that nobody has taken yet.
type Drafted struct {
	*draft.Draft
	Source []byte // the song's file with the draft of the sections that were asked for
	Before []byte // the file as it is
}

// Lines lists what changes in the file, as lines of a unified diff without its heading; none
// if nothing does.
func (d *Drafted) Lines() []string {
	text := strings.TrimSuffix(string(diff.Diff("as it is", d.Before, "drafted", d.Source)), "\n")
	if text == "" {
		return []string{}
	}
	lines := strings.Split(text, "\n")
	return lines[min(headingLines, len(lines)):]
}

// DraftOf drafts a song of a view, or some of its sections, and changes nothing. The edit
// [DraftSong] takes the same draft. Errors are those of draft.Of and draft.For, and
// language.Problems for a song or section that does not exist.
func (s *Session) DraftOf(v *View, song string, sections []int) (Drafted, error) {
	f := newFiles(v.Sources, nil)
	if err := needSong(f, song); err != nil {
		return Drafted{}, err
	}
	d, err := s.drafts.of(v.Sources, v.unread, song)
	if err != nil {
		return Drafted{}, err
	}
	out := Drafted{d, d.Source, v.Sources[song]}
	if len(sections) == 0 {
		return out, nil
	}
	if i := slices.IndexFunc(sections, func(i int) bool { return i < 0 || i >= d.Sections() }); i >= 0 {
		return Drafted{}, noSuch(song, "section", sections[i], d.Sections())
	}
	out.Source, err = d.For(sections)
	return out, err
}
