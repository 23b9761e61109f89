package paper

import (
	"strings"

	"tactus/shows/sheet"
)

// letters knows which characters the embedded fonts have: Latin, Greek and Cyrillic.
// Any other character is printed as a box.
type letters struct{ of *sheet.Letters }

// missing is the box printed for a character that the fonts lack.
const missing = '\u25a1'

func newLetters() *letters { return &letters{sheet.NewLetters()} }

// printable replaces control characters by spaces, and characters that the fonts
// lack by a box.
func (l *letters) printable(text string) string {
	return strings.Map(func(r rune) rune {
		if r < ' ' || r == 0x7f {
			return ' '
		}
		if r > 0xffff || !l.of.Has(r) {
			return missing
		}
		return r
	}, text)
}
