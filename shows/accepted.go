package shows

import (
	"tactus/engine"
	"tactus/engine/commands"
	"tactus/shows/position"
)

// Accepted is a finding that a song's file accepts, with the reason.
type Accepted struct {
	Song    int32
	Finding string // one of Findings
	Section int32  // where; -1: anywhere in the song
	Reason  string
	Written string // file and line
}

// NoteWritten is a note that show.yaml gives a meaning.
type NoteWritten struct {
	Key     string
	Note    int
	Kind    engine.CommandKind
	Written string // file and line
}

// accepted reads the findings that songs accept.
func (c *compiler) accepted() (list []Accepted) {
	for i, f := range c.songs {
		for _, item := range f.Root.Get("accepted").Items() {
			a := Accepted{Song: int32(i), Finding: item.Get("finding").Word(), Section: -1, Reason: item.Get("because").Word(), Written: item.Where()}
			if in := item.Get("in"); in != nil {
				section, _, fault := position.FindSection(&c.program.Songs[i], in.Text)
				if fault != nil {
					c.placeFault(in, fault)
					continue
				}
				a.Section = section
			}
			list = append(list, a)
		}
	}
	return list
}

// notesWritten lists the notes that show.yaml names.
func (c *compiler) notesWritten() (list []NoteWritten) {
	v := c.show.Get("daw").Get("notes")
	for _, r := range commands.ByNote() {
		if at := v.Get(r.Name); at != nil && at.Word() != "none" {
			list = append(list, NoteWritten{r.Name, int(at.Number), r.Kind(), at.Where()})
		}
	}
	return list
}
