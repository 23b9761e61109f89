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

// headings are words for columns, in English, German, French, Spanish and Dutch.
func headings() map[column][]string {
	return map[column][]string{
		nameColumn:     {"name", "fixture", "fixture name", "label", "id", "fixture id", "unit", "what", "bezeichnung", "gerät", "scheinwerfer", "nom", "projecteur", "nombre", "naam", "armatuur", "number", "no", "no.", "nr", "nr.", "#"},
		profileColumn:  {"profile", "type", "fixture type", "kind", "model", "lamp", "instrument", "profil", "typ", "gerätetyp", "modèle", "tipo", "modelo", "aparato", "description", "personality"},
		modeColumn:     {"mode", "modus", "modo", "channels", "channel count", "ch", "dmx mode", "footprint", "slots", "kanäle", "canaux", "canales"},
		universeColumn: {"universe", "univ", "uni", "u", "dmx universe", "universum", "univers", "universo", "line", "dmx line"},
		addressColumn:  {"address", "addr", "adr", "start", "start address", "dmx", "dmx address", "dmx start", "patch", "slot", "channel", "adresse", "startadresse", "dmx-adresse", "dirección", "direccion", "adres", "startadres"},
		placeColumn:    {"place", "position", "pos", "location", "where", "hang", "hanging", "truss", "bar", "purpose", "ort", "platz", "traverse", "lieu", "lugar", "posición", "plaats", "positie"},
		countColumn:    {"quantity", "qty", "count", "how many", "pieces", "pcs", "amount", "anzahl", "stück", "menge", "quantité", "quantite", "nombre de", "cantidad", "aantal"},
		acrossColumn:   {"x", "across", "x (m)", "x m", "x [m]"},
		backColumn:     {"y", "depth", "y (m)", "y m", "y [m]"},
		upColumn:       {"z", "height", "trim", "z (m)", "z m", "z [m]", "höhe", "hauteur"},
		wattsColumn:    {"watts", "watt", "w", "power", "leistung", "puissance", "potencia", "vermogen", "load"},
	}
}

// columnOf returns what a heading says, or unused.
func columnOf(text string) column {
	w := strings.TrimRight(plainWords(text), ":")
	for c, words := range headings() {
		if slices.Contains(words, w) {
			return c
		}
	}
	return unused
}

// header takes the first line as the header, if it is one: two or more of its cells are
// headings, or all are, and no cell is a number.
func (r *listReader) header(line int, cells []cell) bool {
	known := 0
	for _, c := range cells {
		if columnOf(c.text) != unused {
			known++
		}
		if _, ok := decimal(c.text); ok {
			return false
		}
	}
	if known < min(2, len(cells)) {
		return false
	}
	r.columns = make([]column, cells[len(cells)-1].at+1)
	for _, c := range cells {
		what := columnOf(c.text)
		switch {
		case what == unused:
			r.note(line, c.text, "this column is not used")
		case slices.Contains(r.columns, what) && what == nameColumn && !slices.Contains(r.columns, profileColumn):
			what = profileColumn // "Name, Fixture"
		case slices.Contains(r.columns, what):
			r.note(line, c.text, "a second column for the same; it is not used")
			what = unused
		}
		r.columns[c.at] = what
	}
	if !slices.Contains(r.columns, profileColumn) { // "Fixture, Universe, Address": the fixture is its profile
		if i := slices.Index(r.columns, nameColumn); i >= 0 {
			r.columns[i] = profileColumn
		}
	}
	return true
}
