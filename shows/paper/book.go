package paper

import (
	"fmt"
	"slices"
	"strings"

	"tactus/engine"
	"tactus/shows"
	"tactus/shows/language"
	"tactus/shows/plan"
)

// Book is the printed matter of a night. [PDF], [HTML] and [Text] write it.
type Book struct {
	Show, Set, Venue string
	Sheets           []Leaf
}

// Leaf is one sheet of a book. It begins on a new page.
type Leaf struct {
	Title  string
	Under  string   // subtitle, in smaller type, or ""
	Notice bool     // a notice for the entrance, in very large type without tables
	Words  []string // paragraphs above the tables
	Tables []Grid
	After  []string // paragraphs below the tables
}

// Grid is a table. Every page of it repeats the head.
type Grid struct {
	Name  string // title above the table, or ""
	Heads []string
	Share []float64 // width of each column as a share of the table; they add up to 1
	Scale float64   // font size as a multiple of the page's; 0 means 1
	Bold  int       // number of cells, from the left, that are bold in a strong row
	Rows  []Line
}

// Line is a row of a table. It is never split between two pages.
type Line struct {
	Cells  []string // as many as Heads
	Strong bool     // bold cells, and a thicker line above
	Energy int      // 0..10, drawn as a bar below the second cell; -1: none
}

// Options choose the contents of a book.
type Options struct {
	Songs []int32     // indexes of Program.Songs; nil: the songs of the set list
	Only  bool        // only the cue sheets
	Night *plan.Night // the flashes measured in the plan, for the notice at the entrance; nil: not measured
	Page  string      // ADDRESS:PORT of the page for a tablet; "": print a blank line to write it on
	Usual string      // ADDRESS:PORT of the page on the computer itself
	// Unsaved are files whose changes are on the paper and not saved yet.
	Unsaved []string
}

// NewBook returns the book of a show. It measures nothing by itself.
func NewBook(s *shows.Show, o Options) *Book {
	b := &Book{Show: s.Program.Name, Set: s.Program.SetName, Venue: s.Venue}
	songs := o.Songs
	if songs == nil {
		songs = s.Program.SetList
	}
	if !o.Only {
		first := setList(s, songs)
		if len(o.Unsaved) > 0 {
			first.Words = append(first.Words, "This paper has changes that were not saved when it was made: "+strings.Join(o.Unsaved, ", ")+".")
		}
		b.Sheets = append(b.Sheets, first)
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

// Head returns the line at the top of every page: show, set list and venue.
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

// noteWords prints a MIDI note as 'tactus notes' does: middle C, note 60, is C4.
func noteWords(n uint8) string {
	if n > 127 {
		return "none"
	}
	names := [...]string{"C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B"}
	return fmt.Sprintf("%s%d (%d)", names[n%12], int(n/12)-1, n)
}

func fadeWords(s engine.Span) string {
	switch {
	case s.Time > 0:
		return fmt.Sprintf("%.3g s", s.Time.Sub(0).Seconds())
	case s.Length.Num == 0:
		return "cut"
	}
	return language.Length(s.Length)
}
