package newrig

import (
	"cmp"
	"encoding/binary"
	"encoding/csv"
	"fmt"
	"slices"
	"strings"
	"unicode"
	"unicode/utf16"
	"unicode/utf8"

	"tactus/shows/language"
)

// ListOptions say how a list is read.
type ListOptions struct {
	// Open reads a fixture file that a list names, such as my-wash.gdtf, in a mode, and
	// makes a profile of it; nil: no files are read.
	Open func(file, mode string) (Profile, error)
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

// cell is a cell with its column's place from 0.
type cell struct {
	at   int
	text string
}

// ReadList understands a list pasted from a spreadsheet or exported as text: a line for
// each fixture or row of fixtures, cells parted by tabs, semicolons or commas. A header
// line says in any order which column is which; without one, cells are told apart by what
// they say. Lines that begin with # are left out. A line with nothing but a place is the
// place of the lines under it. UTF-8, UTF-16 with its mark, and Latin-1 are read.
//
// What is not understood, and what was assumed, is told line by line; a remark with
// Fault means that its line is not in the description.
func ReadList(src []byte, o ListOptions) (*Description, []Remark) {
	r := &listReader{o: o, words: newLampWords()}
	if len(src) > MaxList {
		r.fault(0, "", fmt.Sprintf("the list has %d bytes, at most %d", len(src), MaxList), "")
		return &r.d, r.remarks
	}
	text := r.decode(src)
	lines := strings.Split(strings.NewReplacer("\r\n", "\n", "\r", "\n").Replace(text), "\n")
	if len(lines) > maxListRows {
		r.fault(0, "", fmt.Sprintf("the list has %d lines, at most %d", len(lines), maxListRows), "")
		return &r.d, r.remarks
	}
	separator := separatorOf(lines)
	first := true
	for i, line := range lines {
		if t := strings.TrimSpace(line); t == "" || strings.HasPrefix(t, "#") {
			continue
		}
		cells := cellsOf(line, separator)
		if len(cells) == 0 {
			continue
		}
		if first {
			first = false
			if r.header(i+1, cells) {
				continue
			}
		}
		r.line(i+1, cells)
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
	r := &listReader{o: o, words: newLampWords()}
	if cells := cellsOf(text, ','); len(cells) > 0 {
		r.line(0, cells)
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

// decode returns the list's text.
func (r *listReader) decode(src []byte) string {
	for mark, order := range map[string]binary.ByteOrder{"\xff\xfe": binary.LittleEndian, "\xfe\xff": binary.BigEndian} {
		if strings.HasPrefix(string(src), mark) {
			var units []uint16
			for i := 2; i+1 < len(src); i += 2 {
				units = append(units, order.Uint16(src[i:]))
			}
			return string(utf16.Decode(units))
		}
	}
	text := strings.TrimPrefix(string(src), "\ufeff")
	if utf8.ValidString(text) {
		return text
	}
	r.note(0, "", "the list is not UTF-8; it was read as Latin-1, so look at letters with accents")
	letters := make([]rune, len(text))
	for i := range len(text) {
		letters[i] = rune(text[i])
	}
	return string(letters)
}

// separatorOf returns what parts the cells: a tab or a semicolon if the list has any, else
// a comma.
func separatorOf(lines []string) rune {
	for _, s := range "\t;" {
		if slices.ContainsFunc(lines, func(l string) bool {
			return strings.ContainsRune(l, s) && !strings.HasPrefix(strings.TrimSpace(l), "#")
		}) {
			return s
		}
	}
	return ','
}

// cellsOf parts a line; empty cells are left out.
func cellsOf(line string, separator rune) (cells []cell) {
	c := csv.NewReader(strings.NewReader(line))
	c.Comma, c.LazyQuotes, c.TrimLeadingSpace, c.FieldsPerRecord = separator, true, separator != '\t', -1
	fields, err := c.Read()
	if err != nil {
		fields = strings.Split(line, string(separator))
	}
	for i, f := range fields {
		f = strings.Join(strings.FieldsFunc(f, func(x rune) bool { return unicode.IsSpace(x) || unicode.IsControl(x) || x == '\ufeff' }), " ")
		if f != "" {
			cells = append(cells, cell{i, f})
		}
	}
	return cells
}

// line reads a line of the list.
func (r *listReader) line(line int, cells []cell) {
	if len(cells) == 1 && r.columns != nil || len(cells) == 1 && line > 0 {
		if p := placeOf(strings.TrimSuffix(cells[0].text, ":")); p != nil {
			r.place = p.Name
			return
		}
	}
	l := listLine{listReader: r, line: line, f: Fixture{Line: line, Count: 0}}
	ok := true
	if r.columns != nil {
		ok = l.byColumn(cells)
	} else {
		ok = l.byContent(cells)
	}
	if !ok || !l.finish() {
		return
	}
	r.d.Fixtures = append(r.d.Fixtures, l.f)
	r.raw = append(r.raw, l.raw)
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
