package commands

import (
	"strings"

	"tactus/clock"
	"tactus/engine"
)

// Row is one command with its words.
type Row struct {
	// Name is what people call it, in small letters: the key of its note in
	// show.yaml and, with hyphens for spaces, its word in journals.
	Name string
	// Was are the words that older journals have for it.
	FormerNames []string
	// Command is what it asks for before its arguments are known. Its Kind is 0 for
	// what the clock is asked for: see Event.
	Command engine.Command
	// Event is what it asks of the clock, such as a tap. It is 0 for commands.
	Event clock.Kind
	// Does says what it does, to follow its name: no capital letter, no full stop.
	Description string
	// Path is its OSC address after /tactus/ and its request after /api/v1/ask/;
	// empty if neither has it.
	Path string
	// Args are what goes with it by OSC and on the page, in order.
	Args []Argument
	// Note is the MIDI note on the control channel that gives it unless show.yaml
	// says another, 1..127; 0 if it has none.
	Note uint8
	// Yields says that it has no note unless show.yaml gives one where Note is taken,
	// or where the control channel is one of sections' notes.
	NoteYields bool
	// MIDI says which other MIDI message gives it; empty if none does.
	MIDI string
	// Button is its button on the page. The zero value is none.
	Button Button
}

// Kind returns the kind of the command, 0 for what is asked of the clock.
func (r *Row) Kind() engine.CommandKind { return r.Command.Kind }

// JournalWord returns the command's word in journals, such as next-song.
func (r *Row) JournalWord() string { return strings.ReplaceAll(r.Name, " ", "-") }

// Summary returns the name and what it does, as printed beside its note.
func (r *Row) Summary() string { return r.Name + ": " + r.Description }

// Button is how a command without arguments looks on the page.
type Button struct {
	Group   string             // of the page's groups of buttons; empty: it has no button of its own
	Label   string             // what stands on it
	Large   bool               // it has to be found in a hurry
	Confirm bool               // it takes a second tap, or a press that is held: it could hurt, or would be missed
	Undo    engine.CommandKind // what it asks for while its command is in force; 0: the command again
}
