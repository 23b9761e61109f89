package newrig

import (
	"slices"
	"strings"
)

// column is what a column of a list says.
type column uint8

const (
	unused column = iota
	nameColumn
	numberColumn
	profileColumn
	modeColumn
	universeColumn
	addressColumn
	placeColumn
	countColumn
	acrossColumn
	backColumn
	upColumn
	wattsColumn
)

// headings are words for columns, in English, German, French, Spanish and Dutch. Of two
// columns for the same, the one with the earlier word is used.
func headings() map[column][]string {
	return map[column][]string{
		nameColumn:     {"name", "fixture name", "label", "bezeichnung", "nom", "nombre", "naam", "fixture", "what", "gerät", "scheinwerfer", "projecteur", "armatuur"},
		numberColumn:   {"unit", "fixture id", "id", "number", "no", "no.", "nr", "nr.", "#"},
		profileColumn:  {"profile", "fixture type", "type", "instrument type", "instrument", "kind", "model", "lamp", "profil", "gerätetyp", "typ", "modèle", "tipo", "modelo", "aparato", "description", "personality"},
		modeColumn:     {"mode", "modus", "modo", "channels", "channel count", "ch", "dmx mode", "footprint", "slots", "kanäle", "canaux", "canales"},
		universeColumn: {"universe", "univ", "uni", "u", "dmx universe", "universum", "univers", "universo", "line", "dmx line"},
		addressColumn:  {"address", "dmx address", "start address", "addr", "adr", "adresse", "startadresse", "dmx-adresse", "dirección", "direccion", "adres", "startadres", "dmx start", "start", "dmx", "patch", "slot", "channel"},
		placeColumn:    {"place", "position", "pos", "location", "where", "hang", "hanging", "ort", "platz", "lieu", "lugar", "posición", "plaats", "positie", "traverse", "truss", "bar", "purpose"},
		countColumn:    {"quantity", "qty", "count", "how many", "pieces", "pcs", "amount", "anzahl", "stück", "menge", "quantité", "quantite", "nombre de", "cantidad", "aantal"},
		acrossColumn:   {"x", "across", "x (m)", "x m", "x [m]"},
		backColumn:     {"y", "depth", "y (m)", "y m", "y [m]"},
		upColumn:       {"z", "height", "trim", "z (m)", "z m", "z [m]", "höhe", "hauteur"},
		wattsColumn:    {"watts", "watt", "w", "power", "leistung", "puissance", "potencia", "vermogen", "load"},
	}
}

// columnOf returns what a heading says, or unused, and how many words for the same come
// before its word.
func columnOf(text string) (what column, rank int) {
	w := strings.TrimRight(plainWords(text), ":")
	for c, words := range headings() {
		if i := slices.Index(words, w); i >= 0 {
			return c, i
		}
	}
	return unused, 0
}

// maxAboveHeader is how many lines, such as a title, may stand above the header.
const maxAboveHeader = 10

// header finds the header among the first rows, takes its columns, and returns the rows
// under it. Without a header it returns all rows.
func (r *listReader) header(list []listRow) []listRow {
	for i, row := range list[:min(len(list), maxAboveHeader+1)] {
		if !isHeader(row.cells, i == 0) {
			continue
		}
		for _, above := range list[:i] {
			if !r.heading(above) {
				r.note(above.line, above.cells[0].text, "stands above the header line, and is not used")
			}
		}
		r.takeHeader(row)
		return list[i+1:]
	}
	return list
}

// isHeader reports whether a row is a header: two or more of its cells, three if it is not
// the first row, are headings, or all are, and no cell is a number.
func isHeader(cells []cell, first bool) bool {
	known := 0
	for _, c := range cells {
		if what, _ := columnOf(c.text); what != unused {
			known++
		}
		if _, ok := decimal(c.text); ok {
			return false
		}
	}
	if first {
		return known >= min(2, len(cells))
	}
	return known >= 3 || known == len(cells) && known > 1
}

// takeHeader takes the columns that a header names.
func (r *listReader) takeHeader(row listRow) {
	chosen := map[column]cell{}
	var spare []cell // second columns for the same
	for _, c := range row.cells {
		what, rank := columnOf(c.text)
		old, twice := chosen[what]
		if what == unused {
			r.note(row.line, c.text, "this column is not used")
			continue
		}
		if twice {
			if _, before := columnOf(old.text); before <= rank {
				spare = append(spare, c)
				continue
			}
			spare = append(spare, old)
		}
		chosen[what] = c
	}
	if _, said := chosen[profileColumn]; !said {
		if i := slices.IndexFunc(spare, func(c cell) bool { what, _ := columnOf(c.text); return what == nameColumn }); i >= 0 {
			chosen[profileColumn] = spare[i] // "Name, Fixture"
			spare = slices.Delete(spare, i, i+1)
		} else {
			move(chosen, nameColumn, profileColumn) // "Fixture, Universe, Address": the fixture is its profile
		}
	}
	if _, said := chosen[nameColumn]; !said {
		move(chosen, numberColumn, nameColumn) // "Unit, Type, Address"
	} else if c, numbered := chosen[numberColumn]; numbered {
		r.note(row.line, c.text, "this column is not used")
	}
	for _, c := range spare {
		r.note(row.line, c.text, "a second column for the same; it is not used")
	}
	r.columns = make([]column, row.cells[len(row.cells)-1].at+1)
	for what, c := range chosen {
		r.columns[c.at] = what
	}
}

// move gives a cell that was chosen for one column to another.
func move(chosen map[column]cell, from, to column) {
	if c, ok := chosen[from]; ok {
		chosen[to] = c
		delete(chosen, from)
	}
}
