package paper

import (
	"fmt"
	"slices"

	"tactus/engine"
	"tactus/shows"
	"tactus/shows/language"
	"tactus/shows/plan"
)

// Book is what is printed for a night, for every writer alike.
type Book struct {
	Show, Set, Venue string
	Sheets           []Leaf
}

// Leaf begins on a page of its own.
type Leaf struct {
	Title  string
	Under  string   // in smaller type below the title, or ""
	Notice bool     // for the entrance: very large type, no table
	Words  []string // paragraphs above the tables
	Tables []Grid
	After  []string // paragraphs below them
}

// Grid has a head that every page of it repeats.
type Grid struct {
	Name  string // above it, or ""
	Heads []string
	Share []float64 // of the width, by column; they add up to 1
	Scale float64   // of the type, beside the page's; 0 is 1
	Bold  int       // so many cells of a strong row are bold
	Rows  []Line
}

// Line is never parted by the end of a page.
type Line struct {
	Cells  []string // as many as Heads
	Strong bool     // begins something: cells are bold, and a line is above
	Energy int      // 0..10, drawn as a bar below the second cell; -1: none
}

// Options say what goes into a book.
type Options struct {
	Songs []int32     // indexes of Program.Songs; nil: those of the set
	Only  bool        // the cue sheets alone
	Night *plan.Night // as measured, for the notice at the entrance; nil: not measured
	Page  string      // ADDRESS:PORT of the page for a tablet; "": a line to write it on
	Usual string      // ADDRESS:PORT of the page on the computer itself
}

// NewBook collects what is printed. It measures nothing by itself.
func NewBook(s *shows.Show, o Options) *Book {
	b := &Book{Show: s.Program.Name, Set: s.Program.SetName, Venue: s.Venue}
	songs := o.Songs
	if songs == nil {
		songs = s.Program.SetList
	}
	if !o.Only {
		b.Sheets = append(b.Sheets, setList(s, songs))
	}
	var seen []int32
	for _, i := range songs {
		if !slices.Contains(seen, i) {
			seen = append(seen, i)
			b.Sheets = append(b.Sheets, cueSheet(s, i))
		}
	}
	if !o.Only {
		b.Sheets = append(b.Sheets, trouble(s, &o), patchSheet(s), powerSheet(s))
		b.Sheets = append(b.Sheets, notices(s, seen, o.Night)...)
	}
	return b
}

// Head is the line on top of every page: show, set and place.
func (b *Book) Head() string {
	head := b.Show
	if b.Set != "" {
		head += ", " + b.Set
	}
	if b.Venue != "" && b.Venue != b.Show {
		head += ", " + b.Venue
	}
	return head
}

// noteWords names a MIDI note, middle C, note 60, as C4: as 'tactus notes' does.
func noteWords(n uint8) string {
	if n > 127 {
		return "none"
	}
	names := [...]string{"C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B"}
	return fmt.Sprintf("%s%d (%d)", names[n%12], int(n/12)-1, n)
}

// fadeWords prints how long a fade takes.
func fadeWords(s engine.Span) string {
	switch {
	case s.Time > 0:
		return fmt.Sprintf("%.3g s", s.Time.Sub(0).Seconds())
	case s.Length.Num == 0:
		return "cut"
	}
	return language.Length(s.Length)
}
