package sheet

// Sheet is a drawing on paper, in millimetres from its upper left corner, to be
// written as PNG or SVG.
type Sheet struct {
	*Letters
	Paper Paper
	Title string // name of the drawing, for screen readers
	About string // description of the drawing, for screen readers
	Marks []Mark // later marks cover earlier ones
}

// Paper is a landscape paper size in millimetres.
type Paper struct {
	Name string
	W, H float64
}

// Papers lists the paper sizes: A4 (ISO 216) and letter (ANSI/ASME Y14.1).
func Papers() []Paper {
	return []Paper{{"a4", 297, 210}, {"letter", 279.4, 215.9}}
}

// Mark is something drawn on a sheet.
type Mark interface {
	png(*raster)
	svg(*vectors)
}

// Side is the part of a text that its point anchors: its start, middle or end.
type Side int8

// The sides.
const (
	Start Side = iota
	Middle
	End
)

type (
	rect struct {
		x, y, w, h float64
		fill       Ink
	}
	line struct {
		x0, y0, x1, y1, width float64
		ink                   Ink
		dash                  float64 // length of each dash and each gap; 0: solid
	}
	// Disc is a filled circle with an edge.
	Disc struct {
		X, y, R    float64
		fill, edge Ink
		width      float64 // width of the edge
	}
	poly struct {
		at   [][2]float64
		fill Ink
	}
	// Words are a line of text.
	Words struct {
		X, Y, Size, Wide float64
		Bold, Turned     bool // turned reads upwards
		Side             Side
		Ink              Ink
		Text             string
	}
	// Band is light along a line: a column for each step, as high above the line as
	// below it.
	Band struct {
		X, Y, Step float64
		Half       []float64 // half the height of each column
		Ink        []Ink
	}
)

// New returns a white sheet.
func New(p Paper, title, about string) *Sheet {
	s := &Sheet{Paper: p, Title: title, About: about, Letters: NewLetters()}
	s.Rect(0, 0, p.W, p.H, White)
	return s
}

// Rect fills a rectangle; x and y are its upper left corner.
func (s *Sheet) Rect(x, y, w, h float64, fill Ink) {
	s.Marks = append(s.Marks, rect{x, y, w, h, fill})
}

// Line draws a line; width is in millimetres.
func (s *Sheet) Line(x0, y0, x1, y1, width float64, ink Ink) {
	s.Marks = append(s.Marks, line{x0, y0, x1, y1, width, ink, 0})
}

// Dashed draws a dashed line; dash is the length of each dash and each gap.
func (s *Sheet) Dashed(x0, y0, x1, y1, width, dash float64, ink Ink) {
	s.Marks = append(s.Marks, line{x0, y0, x1, y1, width, ink, dash})
}

// Disc fills a circle and draws its edge.
func (s *Sheet) Disc(x, y, r float64, fill, edge Ink, width float64) {
	s.Marks = append(s.Marks, Disc{x, y, r, fill, edge, width})
}

// Poly fills a polygon.
func (s *Sheet) Poly(fill Ink, at ...[2]float64) { s.Marks = append(s.Marks, poly{at, fill}) }

// Words writes a line of text; y is the baseline, size the font size in millimetres.
func (s *Sheet) Words(x, y, size float64, at Side, ink Ink, text string) {
	s.Write(Words{X: x, Y: y, Size: size, Side: at, Ink: ink, Text: text})
}

// Bold writes a line of bold text, as [Sheet.Words] does.
func (s *Sheet) Bold(x, y, size float64, at Side, ink Ink, text string) {
	s.Write(Words{X: x, Y: y, Size: size, Side: at, Ink: ink, Text: text, Bold: true})
}

// Write writes a line of text and measures its width; it ignores empty text.
func (s *Sheet) Write(w Words) {
	if w.Text == "" {
		return
	}
	w.Wide = s.Width(w.Text, w.Size, w.Bold)
	s.Marks = append(s.Marks, w)
}

// Put adds a mark.
func (s *Sheet) Put(m Mark) { s.Marks = append(s.Marks, m) }

// Missing returns the letters on the sheet that the embedded fonts lack, so that a PNG
// cannot show them; each once, in order.
func (s *Sheet) Missing() string {
	var out []rune
	seen := map[rune]bool{}
	for _, m := range s.Marks {
		w, ok := m.(Words)
		if !ok {
			continue
		}
		for _, r := range w.Text {
			if !seen[r] && !s.Has(r) {
				out = append(out, r)
			}
			seen[r] = true
		}
	}
	return string(out)
}
