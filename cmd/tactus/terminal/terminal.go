package terminal

import (
	"os"
	"strings"
	"unicode"

	"tactus/cmd/tactus/draw"

	"golang.org/x/term"
)

// Screen returns the file behind w when it is a terminal.
func Screen(w any) (*os.File, bool) {
	f, ok := w.(*os.File)
	if d, queued := w.(*DropWriter); queued {
		f, ok = d.File()
	}
	return f, ok && term.IsTerminal(int(f.Fd()))
}

// Coloured reports whether w is a terminal that may be written to in colour.
func Coloured(w any) bool {
	_, ok := Screen(w)
	return ok && draw.WantsColour(os.Getenv)
}

// Printable replaces by spaces what a terminal would obey: control characters (C0, DEL,
// C1), the ends of lines, and the characters that turn the direction of text (Unicode
// Standard Annex 9, 2.1 to 2.6). Everything printed that comes from a file or from the
// network goes through it or through PrintableLines, unless it is quoted by %q.
func Printable(text string) string {
	return strings.Map(func(r rune) rune {
		if obeyed(r) {
			return ' '
		}
		return r
	}, text)
}

// PrintableLines is Printable for text of several lines: it keeps their ends.
func PrintableLines(text string) string {
	return strings.Map(func(r rune) rune {
		if r != '\n' && obeyed(r) {
			return ' '
		}
		return r
	}, text)
}

// obeyed reports whether a terminal does something else with a character than show it.
func obeyed(r rune) bool { return unicode.IsControl(r) || unicode.Is(unicode.Bidi_Control, r) }
