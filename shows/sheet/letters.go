package sheet

import (
	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/opentype"
	"golang.org/x/image/font/sfnt"
)

// Letters measures text in the embedded fonts, and provides font faces for drawing
// pixels.
type Letters struct {
	fonts [2]*opentype.Font // regular, bold
	em    [2]font.Face      // at emSize, for measuring
	sized map[sized]font.Face
	buf   sfnt.Buffer
}

type sized struct {
	bold   bool
	pixels float64
}

const emSize = 1000

// NewLetters returns the letters of the embedded fonts: the Go fonts, with Latin,
// Greek and Cyrillic.
func NewLetters() *Letters {
	l := &Letters{sized: map[sized]font.Face{}}
	for i, ttf := range [][]byte{goregular.TTF, gobold.TTF} {
		f, err := opentype.Parse(ttf)
		if err != nil {
			panic(err) // the embedded fonts always parse
		}
		l.fonts[i] = f
		l.em[i] = faceOf(f, emSize)
	}
	return l
}

func faceOf(f *opentype.Font, pixels float64) font.Face {
	face, err := opentype.NewFace(f, &opentype.FaceOptions{Size: pixels, DPI: 72})
	if err != nil {
		panic(err) // NewFace never fails
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

// Width returns the width of text at a font size, in the unit of the size.
func (l *Letters) Width(text string, size float64, bold bool) float64 {
	return float64(font.MeasureString(l.em[index(bold)], text)) / 64 / emSize * size
}

// Has reports whether the fonts have a letter.
func (l *Letters) Has(r rune) bool {
	i, err := l.fonts[0].GlyphIndex(&l.buf, r)
	return err == nil && i != 0
}

// Fits shortens text from its end to fit a width, and adds an ellipsis. It returns ""
// if nothing fits.
func (l *Letters) Fits(text string, size, wide float64, bold bool) string {
	if l.Width(text, size, bold) <= wide {
		return text
	}
	r := []rune(text)
	for n := len(r) - 1; n > 0; n-- {
		for n > 1 && r[n-1] == ' ' {
			n--
		}
		if short := string(r[:n]) + "…"; l.Width(short, size, bold) <= wide {
			return short
		}
	}
	return ""
}

// Wrap breaks text at spaces into lines of a width; most is the largest number of
// lines. If more text is left, the last line is shortened with an ellipsis.
func (l *Letters) Wrap(text string, size, wide float64, most int) []string {
	var lines []string
	for text != "" && len(lines) < most {
		if len(lines) == most-1 || l.Width(text, size, false) <= wide {
			return append(lines, l.Fits(text, size, wide, false))
		}
		cut := 0
		for i, r := range text {
			if r == ' ' && i > 0 {
				if l.Width(text[:i], size, false) > wide {
					break
				}
				cut = i
			}
		}
		if cut == 0 {
			return append(lines, l.Fits(text, size, wide, false))
		}
		lines = append(lines, text[:cut])
		text = text[cut+1:]
	}
	return lines
}
