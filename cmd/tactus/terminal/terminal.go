package terminal

import (
	"os"
	"strings"

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

// Printable replaces control characters, which a terminal would obey, by spaces.
func Printable(text string) string {
	return strings.Map(func(r rune) rune {
		if r < ' ' || r >= 0x7f && r < 0xa0 {
			return ' '
		}
		return r
	}, text)
}
