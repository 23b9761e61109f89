package paper

import (
	"strings"

	"tactus/shows/sheet"
)

// letters has the characters of the embedded fonts: Latin, Greek and Cyrillic. Others
// are printed as a box.
type letters struct{ of *sheet.Letters }

// missing stands for a character that cannot be printed.
const missing = '\u25a1'

func newLetters() *letters { return &letters{sheet.NewLetters()} }

// printable replaces what the fonts lack.
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
