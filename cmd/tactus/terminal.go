package main

import (
	"os"
	"strings"
	"tactus/cmd/tactus/draw"

	"golang.org/x/term"
)

// screen returns the file behind w when it is a terminal.
func screen(w any) (*os.File, bool) {
	f, ok := w.(*os.File)
	return f, ok && term.IsTerminal(int(f.Fd()))
}

// coloured reports whether w is a terminal that may be written to in colour.
func coloured(w any) bool {
	_, ok := screen(w)
	return ok && draw.WantsColour(os.Getenv)
}

// printable keeps control characters of a file off the terminal.
func printable(text string) string {
	return strings.Map(func(r rune) rune {
		if r < ' ' || r >= 0x7f && r < 0xa0 {
			return ' '
		}
		return r
	}, text)
}
