package newrig

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"
)

// listLine is one line of a list while it is read.
type listLine struct {
	*listReader
	line int
	f    Fixture
	raw  string // the address as written
	mode string // in words: "5 channels"
	said string // the mode as the list has it
	kind string // words for the profile
	axes [3]*float64
}

var (
	threeDigits  = regexp.MustCompile(`^[0-9]+[.,]0[0-9]{2}$`)
	fewDigits    = regexp.MustCompile(`^([0-9]+)[.,]([0-9]{1,2})$`)
	quantity     = regexp.MustCompile(`^([0-9]{1,4})\s*(?:[x×*]\s*|(?:pcs\.?|pieces?|stück|st\.?)\s+|\s)(.+)$`)
	multiple     = regexp.MustCompile(`^([0-9]{1,4})\s*(?:[x×*]\s*|(?:pcs\.?|pieces?|stück|st\.?)\s+)(.+)$`)
	joinedPlace  = regexp.MustCompile(`^(?i)(.+?)\s+(?:on|at|in|over|from)\s+(?:the\s+)?(.+)$`)
	thousands    = regexp.MustCompile(`^([1-9][0-9]{0,2})[.,]([0-9]{3})(?:\s*(?i:w|watts?))?$`) // "1,000"
	saysUniverse = regexp.MustCompile(`^(?i)(?:universe|universum|univers|univ|uni|u)\s*\.?\s*([0-9]{1,5}|[a-z])$|^(?i)((?:sacn|art-?net)\s*[0-9]{1,5})$`)
	saysAddress  = regexp.MustCompile(`^(?i)(?:address|adresse|addr|adr|dmx|slot|start|@|from)\s*\.?:?\s*([a-z]?[./]?\s?[0-9].*)$`)
	saysName     = regexp.MustCompile(`^(?i)(?:called|named|name)\s+(.+)$`)
	bothNumbers  = regexp.MustCompile(`^([0-9]{1,5}|[A-Za-z])\s*[./:,]\s*([0-9]{1,3})$`)
	letterNumber = regexp.MustCompile(`^([A-Za-z])\s?([0-9]{1,3})$`)
	slotRange    = regexp.MustCompile(`^([0-9]{1,3})\s*[-–]\s*([0-9]{1,3})$`)
	looksLikeDay = regexp.MustCompile(`^(?i)[0-9]{1,2}[. -]+(jan|feb|mar|mär|apr|may|mai|jun|jul|aug|sep|oct|okt|nov|dec|dez)[a-z]*\.?`)
	measures     = regexp.MustCompile(`-?[0-9]+(?:[.,][0-9]+)?`)
)

// byColumn reads a line whose columns a header names.
func (l *listLine) byColumn(cells []cell) bool {
	for _, c := range cells {
		if c.at >= len(l.columns) {
			l.fault(l.line, c.text, fmt.Sprintf("cell %d, and the header has %d; where numbers have decimal commas, part the cells by semicolons or tabs", c.at+1, len(l.columns)), "")
			return false
		}
		if !l.take(l.columns[c.at], c.text) {
			return false
		}
	}
	return l.understandProfile()
}

// take reads the cell of a column.
func (l *listLine) take(what column, text string) bool {
	switch what {
	case nameColumn:
		l.takeName(l.takeCount(text, multiple)) // "101 wash" is a name
	case profileColumn:
		l.kind = l.takeCount(text, quantity)
	case modeColumn:
		l.mode, l.said = text, text
		if n, err := strconv.Atoi(text); err == nil {
			l.mode = fmt.Sprintf("%d channels", n)
		}
	case universeColumn:
		l.f.Universe = withoutDecimals(text)
	case addressColumn:
		return l.takeAddress(text)
	case placeColumn:
		return l.takePlace(text)
	case countColumn:
		return l.takeNumber(text, "a count of 1 to 512", func(v float64) bool { l.f.Count = int(v); return v >= 1 && v <= maxCount && v == float64(int(v)) })
	case wattsColumn:
		if m := thousands.FindStringSubmatch(text); m != nil {
			text = m[1] + m[2]
		}
		return l.takeNumber(text, "watts such as 180, 0 to under 100,000", func(v float64) bool { l.f.Watts = v; return v >= 0 && v < 99999 })
	case acrossColumn, backColumn, upColumn:
		return l.takeNumber(text, "metres such as -3.5, under 1000", func(v float64) bool { l.axes[what-acrossColumn] = &v; return v > -1000 && v < 1000 })
	}
	return true
}

func (l *listLine) takeNumber(text, want string, set func(float64) bool) bool {
	v, ok := decimal(text)
	if !ok || !set(v) {
		l.fault(l.line, text, "want "+want, "")
		return false
	}
	return true
}

// takeName reads a name with its number, or a range of them: "wash 1-4". A number alone is
// the number of a fixture without a name.
func (l *listLine) takeName(text string) {
	if n, err := strconv.Atoi(withoutDecimals(text)); err == nil && n >= 0 && n <= 9999 {
		l.f.Number = n
		return
	}
	name, first, count := splitName(text)
	l.f.Name, l.f.Number = name, first
	if count > 1 {
		l.f.Count = count
	}
}

// takeCount reads a count before other words, in one of the forms multiple, such as "4x", and
// quantity, which may be a number alone; and returns the words.
func (l *listLine) takeCount(text string, form *regexp.Regexp) string {
	if m := form.FindStringSubmatch(text); m != nil {
		if n, err := strconv.Atoi(m[1]); err == nil && n > 0 && !slotsSay.MatchString(strings.ToLower(text[:len(text)-len(m[2])])) && !startsWithUnit(m[2]) {
			l.f.Count = n
			return m[2]
		}
	}
	return text
}

// startsWithUnit reports whether words go on after a number as in "16 bit dimmer".
func startsWithUnit(words string) bool {
	first, _, _ := strings.Cut(strings.ToLower(words), " ")
	switch strings.Trim(first, "-") {
	case "bit", "bits", "ch", "channel", "channels", "cell", "head", "slots":
		return true
	}
	return false
}

func (l *listLine) takePlace(text string) bool {
	if m := measures.FindAllString(strings.ReplaceAll(text, "−", "-"), -1); len(m) == 3 {
		for i := range m {
			v, _ := decimal(m[i])
			l.axes[i] = &v
		}
		return true
	}
	p := placeOf(text)
	for _, s := range sides() {
		if plainWords(text) == s {
			l.f.Place = s
			return true
		}
	}
	if p == nil {
		l.fault(l.line, text, "no place of that name; places are "+strings.Join(PlaceNames(), ", ")+", or three measures in metres", nearestPlace(text))
		return false
	}
	l.f.Place = p.Name
	return true
}

// takeAddress reads an address, with its universe or without: 33, 1.001, 1/1, A1.
func (l *listLine) takeAddress(text string) bool {
	text = strings.TrimSpace(text)
	if m := saysAddress.FindStringSubmatch(text); m != nil {
		text = m[1]
	}
	if fewDigits.MatchString(text) {
		text = withoutDecimals(text) // a spreadsheet shows 33 as 33,0
	}
	l.raw = text
	if v, ok := decimal(text); ok && v == float64(int(v)) && !bothNumbers.MatchString(text) {
		return l.takeSlot(text, int(v))
	}
	if m := slotRange.FindStringSubmatch(text); m != nil {
		first, _ := strconv.Atoi(m[1])
		if last, _ := strconv.Atoi(m[2]); last > first {
			return l.takeSlot(text, first)
		}
	}
	for _, form := range []*regexp.Regexp{bothNumbers, letterNumber} {
		if m := form.FindStringSubmatch(text); m != nil {
			slot, _ := strconv.Atoi(m[2])
			if l.f.Universe != "" && normalLabel(l.f.Universe) != normalLabel(m[1]) {
				l.fault(l.line, text, fmt.Sprintf("names universe %s, and the line has universe %s", m[1], l.f.Universe), "")
				return false
			}
			l.f.Universe = m[1]
			return l.takeSlot(text, slot)
		}
	}
	reason := "no address; want 1 to 512, or with the universe 1.001, 1/1 or A1"
	if looksLikeDay.MatchString(text) {
		reason = "a date, which a spreadsheet made of an address such as 1/1; give that column the form of text, and type the address again"
	}
	l.fault(l.line, text, reason, "")
	return false
}

// takeSlot takes an address. One above 512 goes on into the universes after the first, if
// the line names none (common practice, no source).
func (l *listLine) takeSlot(text string, slot int) bool {
	switch {
	case slot >= 1 && slot <= 512:
		l.f.Address = slot
	case slot > 512 && slot <= 512*63999 && l.f.Universe == "" && !l.hasUniverses():
		l.f.Universe, l.f.Address = strconv.Itoa((slot-1)/512+1), (slot-1)%512+1
		l.note(l.line, text, fmt.Sprintf("counted through all universes: universe %s, address %d", l.f.Universe, l.f.Address))
	default:
		l.fault(l.line, text, fmt.Sprintf("%d is no address; want 1 to 512", slot), "")
		return false
	}
	return true
}

// hasUniverses reports whether the header has a column of universes.
func (l *listLine) hasUniverses() bool {
	for _, c := range l.columns {
		if c == universeColumn {
			return true
		}
	}
	return false
}

// decimal reads a number with a decimal point or comma, and a unit after it.
func decimal(text string) (float64, bool) {
	t := strings.ReplaceAll(strings.TrimSpace(text), "−", "-")
	for _, unit := range []string{"watts", "watt", "W", "w", "metres", "meters", "m", "pcs", "x", "×"} {
		t = strings.TrimSpace(strings.TrimSuffix(t, unit))
	}
	if i, k := strings.LastIndexByte(t, ','), strings.LastIndexByte(t, '.'); i > k {
		t = strings.ReplaceAll(t[:max(0, i)], ".", "") + "." + t[i+1:]
	} else if i >= 0 && k > i {
		t = strings.ReplaceAll(t, ",", "")
	}
	if t == "" || strings.Trim(t, "0123456789.-") != "" || len(t) > 12 {
		return 0, false
	}
	v, err := strconv.ParseFloat(t, 64)
	return v, err == nil
}

// withoutDecimals takes ".0" and ",00" off: a spreadsheet may have put them on.
func withoutDecimals(text string) string {
	i := strings.IndexAny(text, ".,")
	if i > 0 && strings.Trim(text[i+1:], "0") == "" && strings.Trim(text[:i], "0123456789") == "" {
		return text[:i]
	}
	return text
}
