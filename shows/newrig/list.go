package newrig

import (
	"bytes"
	"cmp"
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	"golang.org/x/text/encoding"
	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"

	"tactus/shows/language"
)

// ListOptions say how a list is read.
type ListOptions struct {
	// Open reads a fixture file that a list names, such as my-wash.gdtf, in a mode, and
	// makes a profile of it; nil: no files are read.
	Open func(file, mode string) (Profile, error)
	// Profiles are names of profiles that are not built in, and that a list may name.
	Profiles []string
}

// Limits of a list.
const (
	MaxList     = 1 << 20 // bytes
	maxListRows = 8192
)

// listReader reads a list.
type listReader struct {
	o       ListOptions
	words   *lampWords
	d       Description
	remarks []Remark
	columns []column // of the header; nil: there is none
	place   string   // of a heading such as "Back truss", for the rows under it
	raw     []string // addresses as written, by fixture
}

// ReadList understands a list pasted from a spreadsheet or exported as text: a line for
// each fixture or row of fixtures, cells parted by tabs, semicolons or commas. A header
// line says in any order which column is which; without one, cells are told apart by what
// they say. Lines that begin with # are left out. A line with nothing but a place is the
// place of the lines under it. Cells in quotes may have separators and line breaks (RFC
// 4180). UTF-8, UTF-16 with its byte order mark, and Windows-1252 are read.
//
// What is not understood, and what was assumed, is told line by line; a remark with
// Fault means that its line is not in the description.
func ReadList(src []byte, o ListOptions) (*Description, []Remark) {
	r := &listReader{o: o, words: newLampWords(o.Profiles)}
	if len(src) > MaxList {
		r.fault(0, "", fmt.Sprintf("the list has %d bytes, at most %d", len(src), MaxList), "")
		return &r.d, r.remarks
	}
	text := r.decode(src)
	if lines := strings.Count(text, "\n") + 1; lines > maxListRows {
		r.fault(0, "", fmt.Sprintf("the list has %d lines, at most %d", lines, maxListRows), "")
		return &r.d, r.remarks
	}
	for _, row := range r.header(rowsOf(text)) {
		if row.unclosed {
			r.fault(row.line, row.cells[len(row.cells)-1].text, "a quotation mark begins this cell and none ends it; take it out, or put one at the cell's end", "")
		} else if row.cells[0].text != "#" { // a comment with its sign in a cell of its own
			r.line(row)
		}
	}
	r.paddedAddresses()
	if len(r.d.Fixtures) == 0 && len(r.remarks) == 0 {
		r.fault(0, "", "the list is empty; want a line for each fixture, such as: wash 1-4, dimmer-rgbw, 1, 33, front truss", "")
	}
	return &r.d, r.remarks
}

// ReadHanging understands one answer such as "4 rgbw on front truss, universe 1, address
// 33".
func ReadHanging(text string, o ListOptions) (*Description, []Remark) {
	r := &listReader{o: o, words: newLampWords(o.Profiles)}
	if rows, _ := parted(text, ','); len(rows) > 0 {
		r.line(listRow{cells: rows[0].cells})
	}
	if len(r.d.Fixtures) == 0 && len(r.remarks) == 0 {
		r.fault(0, "", "nothing is said; want a count and a profile, such as 4 rgbw on front truss", "")
	}
	return &r.d, r.remarks
}

func (r *listReader) fault(line int, what, reason, nearest string) {
	r.remarks = append(r.remarks, Remark{Line: line, What: language.Shorten(what), Reason: reason, Nearest: nearest, Fault: true})
}

func (r *listReader) note(line int, what, reason string) {
	r.remarks = append(r.remarks, Remark{Line: line, What: language.Shorten(what), Reason: reason})
}

// decode returns the list's text, its lines ended by \n. Windows-1252 has the letters of
// Latin-1, and the dashes and quotation marks that spreadsheets put in besides.
func (r *listReader) decode(src []byte) string {
	other := encoding.Nop
	if !utf8.Valid(src) && !bytes.HasPrefix(src, []byte("\xff\xfe")) && !bytes.HasPrefix(src, []byte("\xfe\xff")) { // UTF-16
		other = charmap.Windows1252
		r.note(0, "", "the list is not UTF-8; it was read as Windows-1252, so look at letters with accents")
	}
	decoder := encoding.Decoder{Transformer: unicode.BOMOverride(other.NewDecoder())}
	text, err := decoder.Bytes(src)
	if err != nil {
		r.fault(0, "", "the list cannot be read as text: "+err.Error()+"; export it as CSV in UTF-8", "")
	}
	return strings.NewReplacer("\r\n", "\n", "\r", "\n").Replace(string(text))
}

// line reads a row of the list that is not the header.
func (r *listReader) line(row listRow) {
	if row.line > 0 && r.heading(row) {
		return
	}
	l := listLine{listReader: r, line: row.line, f: Fixture{Line: row.line, Count: 0}}
	ok := true
	if r.columns != nil {
		ok = l.byColumn(row.cells)
	} else {
		ok = l.byContent(row.cells)
	}
	if !ok || !l.finish() {
		return
	}
	r.d.Fixtures = append(r.d.Fixtures, l.f)
	r.raw = append(r.raw, l.raw)
}

// heading takes a row with nothing but a place as the place of the rows under it; false if
// the row is something else.
func (r *listReader) heading(row listRow) bool {
	if len(row.cells) != 1 {
		return false
	}
	p := placeOf(strings.TrimSuffix(row.cells[0].text, ":"))
	if p == nil {
		return false
	}
	r.place = p.Name
	return true
}

// paddedAddresses mends addresses that a spreadsheet took for numbers: where some are
// written as 1.001, 1.1 was 1.100.
func (r *listReader) paddedAddresses() {
	padded := slices.ContainsFunc(r.raw, func(a string) bool { return threeDigits.MatchString(a) })
	for i, a := range r.raw {
		m := fewDigits.FindStringSubmatch(a)
		if !padded || m == nil {
			continue
		}
		slot := 0
		for _, c := range (m[2] + "00")[:3] {
			slot = 10*slot + int(c-'0')
		}
		f := &r.d.Fixtures[i]
		if slot < 1 || slot > 512 {
			continue // it cannot be meant
		}
		f.Address = slot
		r.note(f.Line, a, fmt.Sprintf("read as slot %d: others of the list have three digits, and a spreadsheet drops zeros at the end", slot))
	}
}

// finish checks a line that was read.
func (l *listLine) finish() bool {
	if l.f.Profile == "" {
		l.fault(l.line, l.f.Name, "no profile is said; want one such as dimmer-rgbw, or words such as RGBW wash with 5 channels", "")
		return false
	}
	l.f.Place = cmp.Or(l.f.Place, l.place)
	if l.f.At != nil {
		l.f.Place = ""
	}
	return true
}
