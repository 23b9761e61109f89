package sheet

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"strconv"
)

// vectors writes a sheet as SVG 1.1.
type vectors struct{ b bytes.Buffer }

// SVG returns the sheet as SVG 1.1, at its size on paper.
func (s *Sheet) SVG() []byte {
	var v vectors
	w, h := num(s.Paper.W), num(s.Paper.H)
	fmt.Fprintf(&v.b, `<svg xmlns="http://www.w3.org/2000/svg" width="%smm" height="%smm" viewBox="0 0 %s %s" role="img" font-family="Go, 'Noto Sans', Helvetica, Arial, sans-serif">`+"\n", w, h, w, h)
	v.b.WriteString("<title>" + escape(s.Title) + "</title>\n<desc>" + escape(s.About) + "</desc>\n")
	for _, m := range s.Marks {
		m.svg(&v)
		v.b.WriteByte('\n')
	}
	v.b.WriteString("</svg>\n")
	return v.b.Bytes()
}

// num prints a length to a hundredth of a millimetre, a quarter of a pixel at 600 dpi.
func num(f float64) string {
	b := strconv.AppendFloat(nil, f, 'f', 2, 64)
	b = bytes.TrimRight(bytes.TrimRight(b, "0"), ".")
	if s := string(b); s != "-0" && s != "" {
		return s
	}
	return "0"
}

// escape escapes text for XML, and replaces characters that XML does not allow.
func escape(s string) string {
	var b bytes.Buffer
	if xml.EscapeText(&b, []byte(s)) != nil {
		return "" // writing to a buffer never fails
	}
	return b.String()
}

func (i Ink) hex() string { return fmt.Sprintf("#%06x", uint32(i)) }

func (r rect) svg(v *vectors) {
	fmt.Fprintf(&v.b, `<rect x="%s" y="%s" width="%s" height="%s" fill="%s"/>`, num(r.x), num(r.y), num(r.w), num(r.h), r.fill.hex())
}

func (l line) svg(v *vectors) {
	fmt.Fprintf(&v.b, `<path d="M%s %sL%s %s" stroke="%s" stroke-width="%s"`, num(l.x0), num(l.y0), num(l.x1), num(l.y1), l.ink.hex(), num(l.width))
	if l.dash > 0 {
		fmt.Fprintf(&v.b, ` stroke-dasharray="%s"`, num(l.dash))
	}
	v.b.WriteString("/>")
}

func (d Disc) svg(v *vectors) {
	fmt.Fprintf(&v.b, `<circle cx="%s" cy="%s" r="%s" fill="%s" stroke="%s" stroke-width="%s"/>`, num(d.X), num(d.y), num(d.R), d.fill.hex(), d.edge.hex(), num(d.width))
}

func (p poly) svg(v *vectors) {
	v.b.WriteString(`<path d="`)
	for i, at := range p.at {
		v.b.WriteString([...]string{"M", "L"}[min(i, 1)] + num(at[0]) + " " + num(at[1]))
	}
	fmt.Fprintf(&v.b, `Z" fill="%s"/>`, p.fill.hex())
}

func (w Words) svg(v *vectors) {
	fmt.Fprintf(&v.b, `<text x="%s" y="%s" font-size="%s" fill="%s"`, num(w.X), num(w.Y), num(w.Size), w.Ink.hex())
	if w.Bold {
		v.b.WriteString(` font-weight="bold"`)
	}
	if w.Side != Start {
		v.b.WriteString(` text-anchor="` + [...]string{"start", "middle", "end"}[w.Side] + `"`)
	}
	if w.Turned {
		fmt.Fprintf(&v.b, ` transform="rotate(-90 %s %s)"`, num(w.X), num(w.Y))
	}
	// Keep the width even if the viewer uses another font.
	fmt.Fprintf(&v.b, ` textLength="%s" lengthAdjust="spacingAndGlyphs">%s</text>`, num(w.Wide), escape(w.Text))
}

// svg draws each run of similar ink as one shape, and an edge around the whole band.
func (d Band) svg(v *vectors) {
	v.b.WriteString(`<g shape-rendering="crispEdges">`)
	for from := 0; from < len(d.Half); {
		to := from + 1
		for to < len(d.Half) && d.Ink[to].near(d.Ink[from]) && (d.Half[to] >= hair) == (d.Half[from] >= hair) {
			to++
		}
		if d.Half[from] >= hair {
			d.run(v, d.Half, from, to)
			fmt.Fprintf(&v.b, `Z" fill="%s"/>`, d.Ink[from].hex())
		}
		from = to
	}
	v.b.WriteString("</g>")
	for _, sign := range []float64{-1, 1} {
		v.b.WriteString(`<path d="M` + num(d.X) + " " + num(d.Y))
		d.side(v, d.Half, sign, 0, len(d.Half))
		fmt.Fprintf(&v.b, `" fill="none" stroke="%s" stroke-width=".12"/>`, Dim.hex())
	}
}

// hair is half the height, in millimetres, of the lowest column that is drawn.
const hair = 0.02

// run writes the start of a path around the columns from..to-1; the caller closes it.
func (d Band) run(v *vectors, half []float64, from, to int) {
	v.b.WriteString(`<path d="M` + num(d.X+float64(d.Step*float64(from))) + " " + num(d.Y))
	d.side(v, half, -1, from, to)
	for i := to - 1; i >= from; i-- {
		if i > from && num(half[i]) == num(half[i-1]) {
			continue
		}
		v.b.WriteString("V" + num(d.Y+half[i]) + "H" + num(d.X+float64(d.Step*float64(i))))
	}
}

// side writes the path along the ends of columns: above the line if sign is -1, below
// it if sign is 1.
func (d Band) side(v *vectors, half []float64, sign float64, from, to int) {
	for i := from; i < to; i++ {
		if i+1 < to && num(half[i]) == num(half[i+1]) {
			continue
		}
		v.b.WriteString("V" + num(d.Y+float64(sign*half[i])) + "H" + num(d.X+float64(d.Step*float64(i+1))))
	}
}
