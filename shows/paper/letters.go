package paper

import (
	"strings"

	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/sfnt"
)

// letters knows which characters the embedded fonts have: Latin with its
// accents, Greek, Cyrillic. Others are replaced where everyone sees it.
type letters struct {
	font *sfnt.Font
	buf  sfnt.Buffer
}

// missing stands for a character that cannot be printed.
const missing = '\u25a1'

func newLetters() (*letters, error) {
	font, err := sfnt.Parse(goregular.TTF)
	return &letters{font: font}, err
}

// printable replaces what the fonts lack.
func (l *letters) printable(text string) string {
	return strings.Map(func(r rune) rune {
		if r < ' ' || r == 0x7f {
			return ' '
		}
		if g, err := l.font.GlyphIndex(&l.buf, r); err != nil || g == 0 || r > 0xffff {
			return missing
		}
		return r
	}, text)
}
