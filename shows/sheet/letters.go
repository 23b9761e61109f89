package sheet

import (
	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/opentype"
	"golang.org/x/image/font/sfnt"
)

// Letters knows how wide words are, and draws them for pixels.
type Letters struct {
	fonts [2]*opentype.Font // regular, bold
	em    [2]font.Face      // at emSize, to measure
	sized map[sized]font.Face
	buf   sfnt.Buffer
}

type sized struct {
	bold   bool
	pixels float64
}

const emSize = 1000

// NewLetters prepares the letters of the embedded fonts.
func NewLetters() *Letters {
	l := &Letters{sized: map[sized]font.Face{}}
	for i, ttf := range [][]byte{goregular.TTF, gobold.TTF} {
		f, err := opentype.Parse(ttf)
		if err != nil {
			panic(err) // fonts that are part of the program
		}
		l.fonts[i] = f
		l.em[i] = faceOf(f, emSize)
	}
	return l
}

func faceOf(f *opentype.Font, pixels float64) font.Face {
	face, err := opentype.NewFace(f, &opentype.FaceOptions{Size: pixels, DPI: 72})
	if err != nil {
		panic(err) // it never fails
	}
	return face
}

func index(bold bool) int {
	if bold {
		return 1
	}
	return 0
}

// at returns the face of a size in pixels.
func (l *Letters) at(pixels float64, bold bool) font.Face {
	key := sized{bold, pixels}
	f := l.sized[key]
	if f == nil {
		f = faceOf(l.fonts[index(bold)], pixels)
		l.sized[key] = f
	}
	return f
}

// width returns how wide words of a size are, in the unit of the size.
func (l *Letters) width(text string, size float64, bold bool) float64 {
	return float64(font.MeasureString(l.em[index(bold)], text)) / 64 / emSize * size
}

// Has reports whether the fonts have a letter.
func (l *Letters) Has(r rune) bool {
	i, err := l.fonts[0].GlyphIndex(&l.buf, r)
	return err == nil && i != 0
}

// fit shortens words to a width: from the end, with an ellipsis; or to nothing.
func (l *Letters) fit(text string, size, wide float64, bold bool) string {
	if l.width(text, size, bold) <= wide {
		return text
	}
	r := []rune(text)
	for n := len(r) - 1; n > 0; n-- {
		for n > 1 && r[n-1] == ' ' {
			n--
		}
		if short := string(r[:n]) + "…"; l.width(short, size, bold) <= wide {
			return short
		}
	}
	return ""
}

// wrap breaks text into lines of a width at its spaces, at most so many; the
// last is shortened when there is more.
func (l *Letters) wrap(text string, size, wide float64, most int) []string {
	var lines []string
	for text != "" && len(lines) < most {
		if len(lines) == most-1 || l.width(text, size, false) <= wide {
			return append(lines, l.fit(text, size, wide, false))
		}
		cut := 0
		for i, r := range text {
			if r == ' ' && i > 0 {
				if l.width(text[:i], size, false) > wide {
					break
				}
				cut = i
			}
		}
		if cut == 0 {
			return append(lines, l.fit(text, size, wide, false))
		}
		lines = append(lines, text[:cut])
		text = text[cut+1:]
	}
	return lines
}
