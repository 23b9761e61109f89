package commands

import (
	"strings"

	"tactus/clock"
	"tactus/engine"
)

// Row is one command and its names.
type Row struct {
	// Name is what people call it, in small letters: the key of its note in
	// show.yaml and, with hyphens for spaces, its word in journals.
	Name string
	// FormerNames are its words in older journals.
	FormerNames []string
	// Command is what it asks for before its arguments are known; its Kind is 0 where
	// Event is asked for.
	Command engine.Command
	// Event is what it asks of the clock, such as a tap; 0 for commands.
	Event clock.Kind
	// Description says what it does, to follow its name: no capital letter, no full
	// stop.
	Description string
	// Path is its OSC address after /tactus/ and its request after /api/v1/ask/;
	// empty if it has neither.
	Path string
	// Args are its arguments by OSC and on the page, in order.
	Args []Argument
	// Note is its default MIDI note on the control channel, 1..127; 0 if it has none.
	Note uint8
	// NoteYields says that the default note is dropped where show.yaml gives it to
	// something else, or where the control channel also carries sections' notes.
	NoteYields bool
	// MIDI says which other MIDI message gives it; empty if none does.
	MIDI string
	// Button is its button on the page. The zero value is none.
	Button Button
}

// Kind returns the kind of the command, 0 for an event of the clock.
func (r *Row) Kind() engine.CommandKind { return r.Command.Kind }

// JournalWord returns its word in journals, such as next-song.
func (r *Row) JournalWord() string { return strings.ReplaceAll(r.Name, " ", "-") }

// Summary returns its name and description, as printed beside its note.
func (r *Row) Summary() string { return r.Name + ": " + r.Description }

// Button is the button of a command without arguments on the page.
type Button struct {
	Group          string             // the group of buttons that it is in; empty: it has no button of its own
	Label          string             // the text on it
	Key            string             // the single key on the page that presses it; empty: none
	Large          bool               // drawn large, because it is needed in a hurry
	NeedsSecondTap bool               // it needs a second tap, or a long press, because a mistake could hurt or be noticed
	Undo           engine.CommandKind // the command it gives while its own command is in force; 0: its own again
}
