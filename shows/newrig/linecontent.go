package newrig

import (
	"slices"
	"strings"
)

// byContent reads a line without a header: each cell by what it says. Numbers are the
// count, if one comes before all words; then universe and address, or the address alone.
func (l *listLine) byContent(cells []cell) bool {
	var words, numbers []string
	for i, c := range cells {
		text := c.text
		_, number := decimal(text)
		switch m := saysUniverse.FindStringSubmatch(text); {
		case m != nil:
			l.f.Universe = m[1] + m[2]
		case saysName.MatchString(text):
			l.takeName(saysName.FindStringSubmatch(text)[1])
		case saysAddress.MatchString(text), bothNumbers.MatchString(text) && !isWhole(text), letterNumber.MatchString(text):
			if !l.takeAddress(text) {
				return false
			}
		case number && i == 0 && len(cells) > 1:
			if !l.take(countColumn, text) {
				return false
			}
		case number:
			numbers = append(numbers, withoutDecimals(text))
		case placeOf(text) != nil && len(words) > 0, slices.Contains(sides(), plainWords(text)):
			if !l.takePlace(text) {
				return false
			}
		case slotsSay.MatchString(strings.ToLower(text)) && len(words) > 0:
			l.mode, l.said = text, text
		default:
			words = append(words, text)
		}
	}
	return l.takeNumbers(numbers) && l.takeWords(words)
}

// isWhole reports whether text is a number such as 33 or 33.0.
func isWhole(text string) bool {
	return strings.Trim(withoutDecimals(text), "0123456789") == ""
}

// takeNumbers reads the numbers behind the words.
func (l *listLine) takeNumbers(numbers []string) bool {
	switch {
	case len(numbers) == 0:
		return true
	case len(numbers) == 1:
		return l.takeAddress(numbers[0])
	case len(numbers) == 2 && l.f.Universe == "":
		l.f.Universe = numbers[0]
		return l.takeAddress(numbers[1])
	}
	l.fault(l.line, strings.Join(numbers, ", "), "numbers that nothing tells apart; put a header line above, such as: name, profile, universe, address, place", "")
	return false
}

// takeWords reads the words of a line: a name and a profile, or a profile alone with its
// count and place, such as "4 rgbw on front truss".
func (l *listLine) takeWords(words []string) bool {
	if len(words) == 0 {
		l.fault(l.line, "", "no profile is said; want one such as dimmer-rgbw, or words such as RGBW wash", "")
		return false
	}
	kind := -1
	for i, w := range words {
		exact := slices.Contains(l.words.names, strings.ToLower(l.countless(w)))
		if exact || kind < 0 && l.isKind(w) || kind >= 0 && l.isKind(w) && !slices.Contains(l.words.names, strings.ToLower(words[kind])) {
			kind = i
		}
	}
	if kind < 0 {
		kind = len(words) - 1
		if len(words) > 1 {
			kind = 1
		}
	}
	l.kind = l.takeCount(words[kind], quantity)
	if m := joinedPlace.FindStringSubmatch(l.kind); m != nil && l.f.Place == "" {
		l.kind = m[1]
		if !l.takePlace(m[2]) {
			return false
		}
	}
	for i, w := range words {
		switch {
		case i == kind:
		case i > kind && placeOf(w) == nil && l.f.Place == "" && nearestPlace(w) != "":
			return l.takePlace(w) // tells what is wrong with it
		case l.f.Name == "":
			l.takeName(l.takeCount(w, quantity))
		default:
			l.note(l.line, w, "not used")
		}
	}
	return l.understandProfile()
}

// countless is text without the count before it.
func (l *listLine) countless(text string) string {
	if m := quantity.FindStringSubmatch(text); m != nil && !startsWithUnit(m[2]) {
		text = m[2]
	}
	if m := joinedPlace.FindStringSubmatch(text); m != nil {
		text = m[1]
	}
	return text
}

// isKind reports whether words mean a profile.
func (l *listLine) isKind(text string) bool {
	text = l.countless(text)
	return isFile(text) || l.words.find(text, l.mode).profile != ""
}

// isFile reports whether words name a fixture file in the open GDTF.
func isFile(text string) bool { return strings.HasSuffix(strings.ToLower(text), ".gdtf") }

// understandProfile finds the profile that a line's words mean.
func (l *listLine) understandProfile() bool {
	if l.axes[0] != nil || l.axes[1] != nil || l.axes[2] != nil {
		l.f.At = &[3]float64{}
		for i, v := range l.axes {
			if v != nil {
				l.f.At[i] = *v
			}
		}
	}
	if l.kind == "" && l.f.Name != "" { // a line such as "hazer"
		l.kind = l.f.Name
	}
	if l.kind == "" {
		return true // finish tells
	}
	if isFile(l.kind) {
		return l.openFile()
	}
	u := l.words.find(l.kind, l.mode)
	if u.profile == "" {
		l.fault(l.line, strings.TrimSpace(l.kind+" "+l.mode), u.reason, u.nearest)
		return false
	}
	if u.note != "" {
		l.note(l.line, l.kind, u.note)
	}
	l.f.Profile = u.profile
	return true
}

// openFile makes a profile of a file that the line names.
func (l *listLine) openFile() bool {
	if l.o.Open == nil {
		l.fault(l.line, l.kind, "fixture files are not read here; name a profile", "")
		return false
	}
	p, err := l.o.Open(l.kind, l.said)
	if err != nil {
		l.fault(l.line, l.kind, err.Error(), "")
		return false
	}
	if !slices.ContainsFunc(l.d.Profiles, func(o Profile) bool { return o.Name == p.Name }) {
		l.d.Profiles = append(l.d.Profiles, p)
	}
	l.f.Profile = p.Name
	return true
}
