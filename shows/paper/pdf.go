package paper

import (
	"fmt"
	"io"
	"time"

	"github.com/go-pdf/fpdf"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
)

// Size is a paper size.
type Size string

// The paper sizes.
const (
	A4     Size = "A4"
	Letter Size = "Letter"
)

// Lengths in millimetres, font sizes in points, and limits in lines.
const (
	margin = 12.0
	pad    = 1.2  // mm between a cell's edge and its text
	small  = 10.5 // smallest font size: readable in half darkness
	large  = 14.0 // largest font size, used where the page has room
	narrow = 12.5 // largest font size in tables of more than five columns
	mostIn = 12   // most lines in a cell; longer text ends in an ellipsis
	mostOf = 40   // most lines in a paragraph
)

// page writes one PDF.
type page struct {
	*fpdf.Fpdf
	book    *Book
	letters *letters
	sheet   *Leaf
	points  float64 // font size of the sheet
	broken  bool    // wrap split a word since broken was last cleared
	pages   int     // pages of the book; 0 in the first pass, which counts them
	width   float64
	bottom  float64
}

// PDF writes a book as PDF. The same book gives the same bytes: the file's dates are
// fixed.
func PDF(out io.Writer, b *Book, size Size) error {
	l := newLetters()
	counted := newPage(b, l, size, 0)
	counted.print()
	if err := counted.Error(); err != nil {
		return err
	}
	p := newPage(b, l, size, counted.PageNo())
	p.print()
	return p.Output(out)
}

func newPage(b *Book, l *letters, size Size, pages int) *page {
	p := &page{Fpdf: fpdf.New("P", "mm", string(size), ""), book: b, letters: l, pages: pages}
	p.AddUTF8FontFromBytes("go", "", goregular.TTF)
	p.AddUTF8FontFromBytes("go", "B", gobold.TTF)
	p.SetCatalogSort(true)
	p.SetCreationDate(time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC))
	p.SetModificationDate(time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC))
	p.SetTitle(l.printable(b.Head()), true)
	p.SetProducer("tactus", true)
	p.SetMargins(margin, margin, margin)
	p.SetCellMargin(0)
	p.SetAutoPageBreak(false, 0)
	w, h := p.GetPageSize()
	p.width, p.bottom = w-2*margin, h-margin-9
	return p
}

func (p *page) print() {
	for i := range p.book.Sheets {
		p.sheet = &p.book.Sheets[i]
		p.next(false)
		if p.sheet.Notice {
			p.notice()
			continue
		}
		p.points = p.fitted()
		for _, words := range p.sheet.Words {
			p.paragraph(words, p.points, "")
		}
		for n := range p.sheet.Tables {
			p.table(&p.sheet.Tables[n])
		}
		p.Ln(3)
		for _, words := range p.sheet.After {
			p.paragraph(words, 10, "")
		}
	}
}

// next begins a page and prints its head and foot. more marks it as a continuation.
func (p *page) next(more bool) {
	p.AddPage()
	if p.sheet.Notice {
		return
	}
	title := p.sheet.Title
	if more {
		title += " (continued)"
	}
	p.SetXY(margin, margin)
	p.line(p.book.Head(), 9.5, "", p.width)
	p.SetXY(margin, margin+5)
	p.line(title, 20, "B", p.width)
	p.SetXY(margin, margin+14)
	p.line(p.sheet.Under, 11, "", p.width)
	p.SetLineWidth(0.6)
	p.Line(margin, margin+20.5, margin+p.width, margin+20.5)
	p.SetXY(margin, p.bottom+4)
	p.line("Date: ____________________", 9.5, "", p.width/2)
	text := fmt.Sprintf("page %d of %d", p.PageNo(), p.pages)
	p.SetXY(margin+p.width-p.GetStringWidth(text), p.bottom+4)
	p.line(text, 9.5, "", p.width/2)
	p.SetXY(margin, margin+23)
}

// line prints one line. Text wider than width ends in an ellipsis.
func (p *page) line(text string, points float64, style string, width float64) {
	p.SetFont("go", style, points)
	lines := p.wrap(text, width, 1)
	p.CellFormat(width, points*0.45, lines[0], "", 0, "L", false, 0, "")
}

func (p *page) paragraph(text string, points float64, style string) {
	p.SetFont("go", style, points)
	height := points * 0.45
	lines := p.wrap(text, p.width, mostOf)
	if p.GetY()+float64(float64(len(lines))*height) > p.bottom {
		p.next(true)
		p.SetFont("go", style, points)
	}
	for _, l := range lines {
		p.SetX(margin)
		p.CellFormat(p.width, height, l, "", 2, "L", false, 0, "")
	}
	p.Ln(1.5)
}

// notice prints one page in type large enough to read across a foyer.
func (p *page) notice() {
	p.SetLineWidth(2)
	p.Rect(margin, margin, p.width, p.bottom+9-margin, "D")
	p.SetY(margin + 16)
	p.bigger(p.sheet.Title, 48, "B")
	p.Ln(12)
	for _, words := range p.sheet.Words {
		p.bigger(words, 27, "")
		p.Ln(8)
	}
	p.SetY(p.bottom - 18)
	for _, words := range p.sheet.After {
		p.bigger(words, 10, "")
	}
}

func (p *page) bigger(text string, points float64, style string) {
	p.SetFont("go", style, points)
	for _, l := range p.wrap(text, p.width-20, 20) {
		p.SetX(margin + 10)
		p.CellFormat(p.width-20, points*0.45, l, "", 2, "L", false, 0, "")
	}
}
