package plot

// Sheet is a picture on paper, in millimetres from its upper left corner. It is
// drawn once and written as PNG or SVG.
type Sheet struct {
	Paper Paper
	Title string // what it is, for those who cannot see it
	About string // what it shows, likewise
	marks []mark
	face  *letters
}

// Paper is a size in millimetres, lying on its long side.
type Paper struct {
	Name string
	W, H float64
}

// Papers lists the sizes: ISO 216 A4, and the letter of ANSI/ASME Y14.1.
func Papers() []Paper {
	return []Paper{{"a4", 297, 210}, {"letter", 279.4, 215.9}}
}

// mark is a thing on a sheet.
type mark interface {
	png(*raster)
	svg(*vectors)
}

// side is where words stand from their point.
type side int8

const (
	start side = iota
	middle
	end
)

type (
	rect struct {
		x, y, w, h float64
		fill       Ink
	}
	line struct {
		x0, y0, x1, y1, width float64
		ink                   Ink
		dash                  float64 // length of a stroke and of a gap; 0: solid
	}
	disc struct {
		x, y, r    float64
		fill, edge Ink
		width      float64 // of the edge
	}
	poly struct {
		at   [][2]float64
		fill Ink
	}
	words struct {
		x, y, size, wide float64
		bold, turned     bool // turned reads upwards
		side             side
		ink              Ink
		text             string
	}
	// band is light along a line: a column for each step, as far above the line
	// as below.
	band struct {
		x, y, step float64
		half       []float64 // how far
		ink        []Ink
	}
)

func newSheet(p Paper, title, about string) *Sheet {
	s := &Sheet{Paper: p, Title: title, About: about, face: newLetters()}
	s.rect(0, 0, p.W, p.H, white)
	return s
}

func (s *Sheet) rect(x, y, w, h float64, fill Ink) {
	s.marks = append(s.marks, rect{x, y, w, h, fill})
}

func (s *Sheet) line(x0, y0, x1, y1, width float64, ink Ink) {
	s.marks = append(s.marks, line{x0, y0, x1, y1, width, ink, 0})
}

func (s *Sheet) dashed(x0, y0, x1, y1, width, dash float64, ink Ink) {
	s.marks = append(s.marks, line{x0, y0, x1, y1, width, ink, dash})
}

func (s *Sheet) disc(x, y, r float64, fill, edge Ink, width float64) {
	s.marks = append(s.marks, disc{x, y, r, fill, edge, width})
}

func (s *Sheet) poly(fill Ink, at ...[2]float64) { s.marks = append(s.marks, poly{at, fill}) }

// words writes a line of text; y is its baseline, size its height in millimetres.
func (s *Sheet) words(x, y, size float64, at side, ink Ink, text string) {
	s.write(words{x: x, y: y, size: size, side: at, ink: ink, text: text})
}

func (s *Sheet) bold(x, y, size float64, at side, ink Ink, text string) {
	s.write(words{x: x, y: y, size: size, side: at, ink: ink, text: text, bold: true})
}

func (s *Sheet) write(w words) {
	if w.text == "" {
		return
	}
	w.wide = s.face.width(w.text, w.size, w.bold)
	s.marks = append(s.marks, w)
}

// fits shortens text to a width.
func (s *Sheet) fits(text string, size, wide float64, bold bool) string {
	return s.face.fit(text, size, wide, bold)
}

// Missing returns the letters on the sheet that a PNG cannot show, each once, in
// the order they come in.
func (s *Sheet) Missing() string {
	var out []rune
	seen := map[rune]bool{}
	for _, m := range s.marks {
		w, ok := m.(words)
		if !ok {
			continue
		}
		for _, r := range w.text {
			if !seen[r] && !s.face.has(r) {
				out = append(out, r)
			}
			seen[r] = true
		}
	}
	return string(out)
}
