package compose

import (
	"fmt"
	"slices"

	"tactus/shows/language"
)

// SetBars sets the length of a section. What comes after it moves; a position in bars that
// it no longer has is refused.
type SetBars struct {
	Song    string `json:"song"`
	Section int    `json:"section"` // its index in the file, from 0
	Bars    int    `json:"bars"`    // 1 to 999
}

// Do returns "set bars".
func (e *SetBars) Do() string { return "set bars" }

// Words says what the edit does.
func (e *SetBars) Words() string {
	return fmt.Sprintf("%s for section %d of %s", language.Count(int64(e.Bars), "bar"), e.Section+1, e.Song)
}

func (e *SetBars) edit(f *files) error {
	at, err := sectionPlace(f, e.Song, e.Section)
	if err != nil {
		return err
	}
	return f.set(e.Song, at.under("bars"), Number(e.Bars))
}

// MoveBoundary moves the boundary between a section and the next: the music stays in
// place, and so do cues in it; those at a section's start or end, or counted from there
// without a bar, such as "bridge - 1 beat", go with the boundary. The end of the last
// section is the song's.
type MoveBoundary struct {
	Song    string `json:"song"`
	Section int    `json:"section"` // the one before the boundary
	Bars    int    `json:"bars"`    // that it has then; the next one has at least one left
}

// Do returns "move boundary".
func (e *MoveBoundary) Do() string { return "move boundary" }

// Words says what the edit does.
func (e *MoveBoundary) Words() string {
	return fmt.Sprintf("end of section %d of %s after %s", e.Section+1, e.Song, language.Count(int64(e.Bars), "bar"))
}

func (e *MoveBoundary) edit(f *files) error {
	t, at, err := sectionOf(f, e.Song, e.Section)
	if err != nil {
		return err
	}
	if e.Section == len(t.keys)-1 {
		return f.set(e.Song, at.under("bars"), Number(e.Bars))
	}
	both := int(t.bars[e.Section] + t.bars[e.Section+1])
	if e.Bars < 1 || e.Bars >= both {
		return refuse(e.Song, 0, fmt.Sprintf("the section cannot have %s", language.Count(int64(e.Bars), "bar")), fmt.Sprintf("1 to %d: it shares %d bars with the next section", both-1, both))
	}
	r := t.unmoved()
	r.inPlace = true
	return rearrange(f, e.Song, r, false, func() error {
		if err := f.set(e.Song, at.under("bars"), Number(e.Bars)); err != nil {
			return err
		}
		next := place{"sections", e.Section + 1, t.keys[e.Section+1]}
		return f.set(e.Song, next.under("bars"), Number(both-e.Bars))
	})
}

// RenameSection gives a section another name. Names that come more than once are numbered
// in their order: "verse 1", "verse 2". Positions follow.
type RenameSection struct {
	Song    string `json:"song"`
	Section int    `json:"section"`
	Name    string `json:"name"` // such as "chorus", without a number
}

// Do returns "rename section".
func (e *RenameSection) Do() string { return "rename section" }

// Words says what the edit does.
func (e *RenameSection) Words() string {
	return fmt.Sprintf("section %d of %s called %q", e.Section+1, e.Song, e.Name)
}

func (e *RenameSection) edit(f *files) error {
	t, at, err := sectionOf(f, e.Song, e.Section)
	if err != nil || t.keys[e.Section] == e.Name {
		return err
	}
	return rearrange(f, e.Song, t.unmoved(), false, func() error { return f.renameKey(e.Song, at, e.Name) })
}

// AddSection adds a section. It has no look of its own: the light before it goes on.
type AddSection struct {
	Song    string `json:"song"`
	Section int    `json:"section"` // the index that it has then
	Name    string `json:"name"`
	Bars    int    `json:"bars"`
	Energy  int    `json:"energy"` // 0 to 10
}

// Do returns "add section".
func (e *AddSection) Do() string { return "add section" }

// Words says what the edit does.
func (e *AddSection) Words() string { return fmt.Sprintf("new section %q in %s", e.Name, e.Song) }

func (e *AddSection) edit(f *files) error {
	t, err := timelineOf(f, e.Song)
	if err != nil {
		return err
	}
	if e.Section < 0 || e.Section > len(t.keys) {
		return refuse(e.Song, 0, fmt.Sprintf("a new section cannot be number %d", e.Section+1), fmt.Sprintf("1 to %d", len(t.keys)+1))
	}
	r := t.unmoved()
	for i := e.Section; i < len(t.keys); i++ {
		r.begins[i], r.ends[i] = i+1, i+1
	}
	return rearrange(f, e.Song, r, false, func() error {
		return f.insert(e.Song, place{"sections"}, e.Section, sectionValue(e.Name, e.Bars, e.Energy))
	})
}

// sectionValue writes a section as an item of the file's list.
func sectionValue(name string, bars, energy int) Value {
	s := object("bars", Number(bars))
	s.put("energy", Number(energy))
	return object(name, s)
}

// RemoveSection removes a section. Cues and changes in it are refused, or removed with it.
type RemoveSection struct {
	Song    string `json:"song"`
	Section int    `json:"section"`
	Cues    string `json:"cues,omitempty"` // "remove": what stands in the section goes with it
}

// Do returns "remove section".
func (e *RemoveSection) Do() string { return "remove section" }

// Words says what the edit does.
func (e *RemoveSection) Words() string {
	return fmt.Sprintf("removing section %d of %s", e.Section+1, e.Song)
}

func (e *RemoveSection) edit(f *files) error {
	t, _, err := sectionOf(f, e.Song, e.Section)
	if err != nil {
		return err
	}
	if e.Cues != "" && e.Cues != "remove" {
		return refuse(e.Song, 0, fmt.Sprintf("cues cannot be %q", language.Shorten(e.Cues)), `"remove", or nothing`)
	}
	if len(t.keys) == 1 {
		return refuse(e.Song, 0, "the song has only this section", "add another one first")
	}
	r := t.unmoved()
	r.begins[e.Section], r.ends[e.Section] = -1, -1
	for i := e.Section + 1; i < len(t.keys); i++ {
		r.begins[i], r.ends[i] = i-1, i-1
	}
	return rearrange(f, e.Song, r, e.Cues == "remove", func() error { return f.removeItem(e.Song, place{"sections", e.Section}) })
}

// MoveSection moves a section, with the comments directly above it, to another place. Its
// cues go with it.
type MoveSection struct {
	Song    string `json:"song"`
	Section int    `json:"section"`
	To      int    `json:"to"` // the index that it has then
}

// Do returns "move section".
func (e *MoveSection) Do() string { return "move section" }

// Words says what the edit does.
func (e *MoveSection) Words() string {
	return fmt.Sprintf("section %d of %s moved to %d", e.Section+1, e.Song, e.To+1)
}

func (e *MoveSection) edit(f *files) error {
	t, _, err := sectionOf(f, e.Song, e.Section)
	if err != nil {
		return err
	}
	if _, err := t.section(e.Song, e.To); err != nil {
		return err
	}
	order := make([]int, len(t.keys)) // old indexes in their new order
	for i := range order {
		order[i] = i
	}
	order = slices.Insert(slices.Delete(order, e.Section, e.Section+1), e.To, e.Section)
	r := t.unmoved()
	for now, was := range order {
		r.begins[was], r.ends[was] = now, now
	}
	return rearrange(f, e.Song, r, false, func() error { return f.moveItem(e.Song, place{"sections", e.Section}, e.To) })
}
