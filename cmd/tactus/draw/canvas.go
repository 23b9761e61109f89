package draw

import (
	"strconv"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/width"
)

// style is bold, reverse and so on: the attributes of a cell besides its colours.
type style uint8

const (
	bold style = 1 << iota
	reverse
)

// cell is one character of the screen. A rune of 0 is the right half of a wide
// character.
type cell struct {
	r      rune
	fg, bg colour
	style  style
}

var blank = cell{r: ' ', fg: unset, bg: unset}

// canvas is a screen of cells.
type canvas struct {
	w, h  int
	cells []cell
	plain bool // without colours
}

func newCanvas(w, h int, plain bool) canvas {
	return canvas{w: w, h: h, cells: make([]cell, w*h), plain: plain}
}

func (c *canvas) clear() {
	for i := range c.cells {
		c.cells[i] = blank
	}
}

// at returns a cell; x and y must lie on the canvas.
func (c *canvas) at(x, y int) *cell { return &c.cells[y*c.w+x] }

// setCell sets a cell's rune and foreground, if it lies on the canvas.
func (c *canvas) setCell(x, y int, r rune, fg colour) {
	if x >= 0 && x < c.w && y >= 0 && y < c.h {
		p := c.at(x, y)
		p.r, p.fg = r, fg
	}
}

// text writes s from x to before limit and returns where it ended. It leaves
// backgrounds alone, and shows control characters as dots.
func (c *canvas) text(x, y, limit int, s []byte, fg colour, st style) int {
	limit = min(limit, c.w)
	for len(s) > 0 && y >= 0 && y < c.h {
		r, n := utf8.DecodeRune(s)
		s = s[n:]
		if !unicode.IsPrint(r) {
			r = '·'
		}
		wide := cells(r)
		if wide == 0 {
			continue
		}
		if x < 0 || x+wide > limit {
			break
		}
		p := c.at(x, y)
		p.r, p.fg, p.style = r, fg, st
		if wide == 2 {
			q := c.at(x+1, y)
			q.r, q.fg, q.style = 0, fg, st
		}
		x += wide
	}
	return x
}

// appendTo appends the whole canvas: moves to each row, writes it and clears the
// rest of the line. It does not clear after a row of full width, because some
// terminals would remove the last character.
func (c *canvas) appendTo(b []byte) []byte {
	for y := range c.h {
		row := c.cells[y*c.w : (y+1)*c.w]
		end := len(row)
		for end > 0 && row[end-1] == blank {
			end--
		}
		b = append(b, "\x1b["...)
		b = strconv.AppendInt(b, int64(y+1), 10)
		b = append(b, ";1H"...)
		b = c.appendRow(b, row[:end])
		if end < c.w {
			b = append(b, "\x1b[K"...)
		}
	}
	return b
}

func (c *canvas) appendRow(b []byte, row []cell) []byte {
	pen := blank
	for i := range row {
		p := row[i]
		if p.r == 0 {
			continue
		}
		if c.plain {
			p.fg, p.bg = unset, unset
		}
		if p.r == ' ' && p.style == 0 {
			p.fg = pen.fg // a space shows no foreground
		}
		b = appendPen(b, &pen, &p)
		b = utf8.AppendRune(b, p.r)
	}
	if pen.fg != unset || pen.bg != unset || pen.style != 0 {
		b = append(b, "\x1b[0m"...)
	}
	return b
}

// appendPen appends the sequences that change the pen to the cell's colours and
// style.
func appendPen(b []byte, pen, p *cell) []byte {
	if pen.style&^p.style != 0 {
		b = append(b, "\x1b[0m"...)
		*pen = blank
	}
	if add := p.style &^ pen.style; add&bold != 0 {
		b = append(b, "\x1b[1m"...)
	}
	if add := p.style &^ pen.style; add&reverse != 0 {
		b = append(b, "\x1b[7m"...)
	}
	if p.fg != pen.fg {
		b = appendColour(b, '3', p.fg)
	}
	if p.bg != pen.bg {
		b = appendColour(b, '4', p.bg)
	}
	pen.fg, pen.bg, pen.style = p.fg, p.bg, p.style
	return b
}

func appendColour(b []byte, layer byte, c colour) []byte {
	b = append(b, 0x1b, '[', layer)
	if c == unset {
		return append(b, '9', 'm')
	}
	b = append(b, "8;2;"...)
	b = append(appendCode(b, uint8(c>>16)), ';')
	b = append(appendCode(b, uint8(c>>8)), ';')
	return append(appendCode(b, uint8(c)), 'm')
}

// appendCode appends 0..255 in decimal. It is written for speed: a screen has tens
// of thousands of them.
func appendCode(b []byte, v uint8) []byte {
	if v >= 100 {
		return append(b, '0'+v/100, '0'+v/10%10, '0'+v%10)
	}
	if v >= 10 {
		return append(b, '0'+v/10, '0'+v%10)
	}
	return append(b, '0'+v)
}

// cells returns how many cells a rune takes: 0 for combining marks, 2 for characters
// that are wide in East Asian text (UAX #11).
func cells(r rune) int {
	if unicode.In(r, unicode.Mn, unicode.Me) {
		return 0
	}
	if kind := width.LookupRune(r).Kind(); kind == width.EastAsianWide || kind == width.EastAsianFullwidth {
		return 2
	}
	return 1
}

// columns returns how many cells a text takes.
func columns(s []byte) int {
	n := 0
	for len(s) > 0 {
		r, size := utf8.DecodeRune(s)
		if !unicode.IsPrint(r) {
			r = '·'
		}
		n += cells(r)
		s = s[size:]
	}
	return n
}

// fittingBytes returns how many bytes of s take at most w cells, and at least one rune.
func fittingBytes(s []byte, w int) int {
	n, used := 0, 0
	for n < len(s) {
		r, size := utf8.DecodeRune(s[n:])
		used += cells(r)
		if used > w && n > 0 {
			break
		}
		n += size
	}
	return n
}
