package reference

import (
	"bytes"
	"fmt"
	"strings"

	"tactus/engine/commands"
)

const oscIntro = `# What a show can be asked to do

By OSC, from the page or any other program, by a MIDI note: the same words do the
same everywhere. [Setting up the DAW](daw.md) says how to turn each of them on;
` + "`tactus notes SHOW`" + ` prints the notes and addresses of your own show.

**OSC has no password: whoever reaches its port can black out the stage.**

## OSC and the page

An OSC address is ` + "`/tactus/`" + ` and the path below. A program asks the page with
` + "`POST /api/v1/ask/`" + ` and the path; what goes with it is in the body, such as
` + "`{\"with\": [\"chorus 2\", \"bar\"]}`" + `.

What takes nothing also takes a button's 1. Its 0, when it is let go of, does
nothing. By OSC a pattern such as ` + "`/tactus/{hold,blackout}`" + ` means every address
that it matches (OSC 1.0, "OSC Message Dispatching and Pattern Matching"). Names
have to be spelt as in the show's files.

| path | with | does |
|---|---|---|
`

// OSC returns the page about the requests that a show accepts.
func OSC() []byte {
	var out bytes.Buffer
	out.WriteString(oscIntro)
	for _, a := range commands.Addresses() {
		fmt.Fprintf(&out, "| `%s` | %s | %s |\n", a.Path, a.DescribeArgs(), a.Description())
	}
	out.WriteString(`
## Notes

On the control channel, channel 16 unless ` + "`show.yaml`" + ` says another. The name is
the key under ` + "`daw: {notes: ...}`" + ` that gives the command another note, or ` + "`none`" + `.
A command marked "free" has the note only where the show gives it to nothing else
and the control channel has no sections' notes.

| name | default note | does |
|---|---|---|
`)
	for _, r := range commands.ByNote() {
		free := ""
		if r.NoteYields {
			free = ", free"
		}
		fmt.Fprintf(&out, "| `%s` | %d%s | %s |\n", r.Name, r.Note, free, r.Description)
	}
	out.WriteString("\nOther MIDI messages:\n\n")
	for _, r := range commands.Table() {
		if r.MIDI != "" {
			fmt.Fprintf(&out, "- %s: %s\n", r.MIDI, r.Description)
		}
	}
	out.WriteString(`
## Journals

A journal has a line for every command that was given, such as
` + "`12.050578002 do fire-section index 3`" + `. These are its words; those in brackets are
of older journals, and are still read.

| word | does |
|---|---|
`)
	for _, r := range commands.Table() {
		if r.Kind() == 0 {
			continue
		}
		was := ""
		if r.FormerNames != nil {
			was = " (`" + strings.Join(r.FormerNames, "`, `") + "`)"
		}
		fmt.Fprintf(&out, "| `%s`%s | %s |\n", r.JournalWord(), was, r.Description)
	}
	return out.Bytes()
}
