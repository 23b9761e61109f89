package newrig

import (
	"encoding/csv"
	"strings"
	"unicode"
)

// listRow is a row of a list. A cell in quotes may go on over several lines of the text.
type listRow struct {
	line     int // of the text, from 1, that it begins on
	cells    []cell
	unclosed bool // a quotation mark begins its last cell, and none ends it: it has the rest of the text
}

// cell is a cell that is not empty, with its column's place from 0.
type cell struct {
	at   int
	text string
}

// rowsOf parts a list into rows and cells. The separator is the one of tab, semicolon and
// comma that parts the largest share of the rows; of equal ones the first of these, since
// cells parted by tabs or semicolons may have commas inside.
func rowsOf(text string) (rows []listRow) {
	most := 0.0
	for i, separator := range "\t;," {
		if list, share := parted(text, separator); i == 0 || share > most {
			rows, most = list, share
		}
	}
	return rows
}

// parted parts a list by a separator, without empty rows and comments, and returns the
// share of rows that have more than one cell, 0..1.
func parted(text string, separator rune) (rows []listRow, share float64) {
	c := csv.NewReader(strings.NewReader(text))
	c.Comma, c.LazyQuotes, c.TrimLeadingSpace, c.FieldsPerRecord = separator, true, separator != '\t', -1
	quoteLast := strings.HasSuffix(strings.TrimSpace(text), `"`)
	several := 0
	for {
		fields, err := c.Read()
		if err != nil {
			break // the end: with lazy quotes nothing else is an error
		}
		row := listRow{unclosed: strings.Contains(fields[len(fields)-1], "\n") && c.InputOffset() == int64(len(text)) && !quoteLast}
		row.line, _ = c.FieldPos(0)
		for i, f := range fields {
			f = strings.Join(strings.FieldsFunc(f, func(x rune) bool { return unicode.IsSpace(x) || unicode.IsControl(x) || x == '\ufeff' }), " ")
			if f != "" {
				row.cells = append(row.cells, cell{i, f})
			}
		}
		if len(row.cells) == 0 || strings.HasPrefix(row.cells[0].text, "#") && row.cells[0].text != "#" {
			continue
		}
		rows = append(rows, row)
		if len(fields) > 1 {
			several++
		}
	}
	return rows, float64(several) / float64(max(1, len(rows)))
}
