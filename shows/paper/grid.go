package paper

import (
	"strings"
	"unicode"
)

// size returns the font size of a table in points.
func (p *page) size(t *Grid) float64 {
	if t.Scale > 0 {
		return float64(p.points * t.Scale)
	}
	return p.points
}

// lineHeight returns the height of a table's line in millimetres. A point is
// 0.353 mm.
func (p *page) lineHeight(t *Grid) float64 { return float64(p.size(t) * 0.43) }

// fitted returns the largest font size, in points, at which the sheet fits on one page
// without splitting a word; small if there is none.
func (p *page) fitted() float64 {
	room := p.bottom - p.GetY()
	p.points = large
	for i := range p.sheet.Tables {
		if len(p.sheet.Tables[i].Heads) > 5 {
			p.points = narrow
		}
	}
	for ; p.points > small; p.points -= 0.5 {
		if p.broken = false; p.sheetHeight(room) <= room && !p.broken {
			break
		}
	}
	return p.points
}

// sheetHeight returns the height of the sheet in millimetres at the page's font size. It
// stops counting table rows once the height exceeds room.
func (p *page) sheetHeight(room float64) (height float64) {
	text := func(list []string, points float64) {
		for _, words := range list {
			p.SetFont("go", "", points)
			height += float64(float64(len(p.wrap(words, p.width, mostOf)))*points*0.45) + 1.5
		}
	}
	text(p.sheet.Words, p.points)
	for n := range p.sheet.Tables {
		t := &p.sheet.Tables[n]
		if height += 5.6; t.Name != "" {
			text([]string{t.Name}, 12)
		}
		for i := 0; i < len(t.Rows) && height <= room; i++ {
			_, row := p.cells(t, &t.Rows[i])
			height += row
		}
	}
	if len(p.sheet.After) > 0 {
		height += 3
	}
	text(p.sheet.After, 10)
	return height
}

// table prints a table. It never splits a row between pages, and repeats the head on
// every page.
func (p *page) table(t *Grid) {
	if t.Name != "" {
		p.paragraph(t.Name, 12, "B")
	}
	p.heads(t)
	for i := range t.Rows {
		r := &t.Rows[i]
		cells, height := p.cells(t, r)
		if p.GetY()+height > p.bottom {
			p.next(true)
			p.heads(t)
			cells, height = p.cells(t, r)
		}
		p.row(t, r, cells, height)
	}
}

// cells returns the lines of each cell of a row, and the row's height in millimetres.
func (p *page) cells(t *Grid, r *Line) (cells [][]string, height float64) {
	most := 1
	for n, text := range r.Cells {
		p.cellFont(t, r, n)
		lines := p.wrap(text, float64(t.Share[n]*p.width)-2*pad, mostIn)
		most = max(most, len(lines))
		cells = append(cells, lines)
	}
	height = float64(float64(most)*p.lineHeight(t)) + 2*pad
	if r.Energy >= 0 {
		height = max(height, float64(float64(len(cells[1]))*p.lineHeight(t))+2*pad+2.4)
	}
	return cells, height
}

func (p *page) cellFont(t *Grid, r *Line, cell int) {
	style := ""
	if r.Strong && cell < t.Bold {
		style = "B"
	}
	p.SetFont("go", style, p.size(t))
}

func (p *page) row(t *Grid, r *Line, cells [][]string, height float64) {
	x, y := margin, p.GetY()
	p.SetLineWidth(0.15)
	if r.Strong {
		p.SetLineWidth(0.45)
	}
	p.Line(margin, y, margin+p.width, y)
	for n, lines := range cells {
		width := float64(t.Share[n] * p.width)
		p.cellFont(t, r, n)
		for i, l := range lines {
			p.SetXY(x+pad, y+pad+float64(float64(i)*p.lineHeight(t)))
			p.CellFormat(width-2*pad, p.lineHeight(t), l, "", 0, "L", false, 0, "")
		}
		if n == 1 && r.Energy >= 0 {
			p.energy(x+pad, y+pad+float64(float64(len(lines))*p.lineHeight(t))+0.6, width-2*pad, r.Energy)
		}
		x += width
	}
	p.SetXY(margin, y+height)
}

// energy draws a bar of ten steps; the first energy steps are black.
func (p *page) energy(x, y, width float64, energy int) {
	step := width / 10
	p.SetLineWidth(0.15)
	for i := range 10 {
		style := "D"
		if i < energy {
			style = "FD"
		}
		p.SetFillColor(0, 0, 0)
		p.Rect(x+float64(float64(i)*step), y, step-0.5, 1.5, style)
	}
}

func (p *page) heads(t *Grid) {
	x, y := margin, p.GetY()
	p.SetFillColor(225, 225, 225)
	p.Rect(margin, y, p.width, 5.6, "F")
	for n, h := range t.Heads {
		p.SetXY(x+pad, y+0.6)
		p.line(h, 9, "B", float64(t.Share[n]*p.width)-2*pad)
		x += float64(t.Share[n] * p.width)
	}
	p.SetXY(margin, y+5.6)
}

// wrap breaks text in the current font into lines; width is in millimetres, most is the
// largest number of lines. It breaks at spaces, and inside a word only if the word is
// wider than a line. Longer text ends in an ellipsis.
func (p *page) wrap(text string, width float64, most int) []string {
	var lines []string
	line := ""
	for _, word := range p.words(text, width) {
		switch {
		case line == "":
			line = word
		case p.GetStringWidth(line+" "+word) <= width:
			line += " " + word
		default:
			lines, line = append(lines, line), word
		}
		for p.GetStringWidth(line) > width {
			cut := p.fittingBytes(line, width)
			if cut == len(line) {
				break // a single letter cannot be split
			}
			p.broken = true
			lines, line = append(lines, line[:cut]), line[cut:]
		}
	}
	lines = append(lines, line)
	if len(lines) > most {
		lines = lines[:most]
		last := []rune(lines[most-1])
		for len(last) > 0 && p.GetStringWidth(string(last)+"…") > width {
			last = last[:len(last)-1]
		}
		lines[most-1] = string(last) + "…"
	}
	return lines
}

// words splits text at spaces. It splits at a no-break space only if the joined words
// are wider than a line.
func (p *page) words(text string, width float64) (list []string) {
	for _, word := range strings.FieldsFunc(p.letters.printable(text), func(r rune) bool { return r != '\u00a0' && unicode.IsSpace(r) }) {
		if p.GetStringWidth(word) > width {
			list = append(list, strings.Fields(word)...)
		} else {
			list = append(list, word)
		}
	}
	return list
}

// fittingBytes returns how many bytes of a line fit a width; at least one letter.
func (p *page) fittingBytes(line string, width float64) int {
	sum := 0.0
	for i, r := range line {
		if sum += p.GetStringWidth(string(r)); sum > width && i > 0 {
			return i
		}
	}
	return len(line)
}
