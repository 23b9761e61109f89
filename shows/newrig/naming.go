package newrig

import (
	"cmp"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"tactus/protocol/dmx"
)

// joined puts rows that a list has one by one together: "wash 1" on 1 and "wash 2" on 6
// become two of a row, if each has the profile, place and universe of the one before, the
// next number, and the next address.
func (r *rig) joined(list []Fixture) (out []Fixture) {
	for _, f := range list {
		f.Count = max(1, f.Count)
		if n := len(out); n > 0 && r.follows(&out[n-1], &f) {
			out[n-1].Count += f.Count
			continue
		}
		out = append(out, f)
	}
	return out
}

// follows reports whether b goes on where a ends, and both fit into one universe. A place of
// its own, in metres, parts it.
func (r *rig) follows(a, b *Fixture) bool {
	next := 0
	if p := r.profiles[a.Profile]; p != nil {
		if (a.Count+b.Count)*p.Footprint() > dmx.Slots {
			return false
		}
		if a.Address > 0 {
			next = a.Address + a.Count*p.Footprint()
		}
	}
	return a.Name == b.Name && a.Number > 0 && b.Number == a.Number+a.Count && a.Count+b.Count <= maxCount &&
		a.Profile == b.Profile && a.Place == b.Place && a.Universe == b.Universe && a.Watts == b.Watts &&
		a.At == nil && b.At == nil && b.Address == next
}

// nameRows gives each row the names that rig.yaml has: no two fixtures, and none of their
// heads, have the same.
func (r *rig) nameRows() {
	for i := range r.rows {
		w := &r.rows[i]
		base := cmp.Or(cleanName(w.Name), w.kindName())
		if w.Count == 1 && w.Number == 0 && (w.Name != "" || r.only(w)) && r.claim(base, 0, w) {
			w.names = base
			continue
		}
		first := max(1, w.Number)
		for !r.claim(base, first, w) {
			first++
			if w.Number > 0 && first == w.Number+1 {
				r.note(&w.Fixture, fmt.Sprintf("%s %d", base, w.Number), "the name is taken; it gets the next free number")
			}
		}
		w.Number = first
		w.names = fmt.Sprintf("%s %d", base, first)
		if w.Count > 1 {
			w.names = fmt.Sprintf("%s %d-%d", base, first, first+w.Count-1)
		}
	}
}

// only reports whether no other row without a name is of the same kind.
func (r *rig) only(w *row) bool {
	return len(r.choose(func(o *row) bool { return o.Name == "" && o.kindName() == w.kindName() })) == 1
}

// claim takes the names of a row that is numbered from first, or that has one fixture
// without a number; false, and nothing is taken, if one of them is in use.
func (r *rig) claim(base string, first int, w *row) bool {
	var names []string
	for i := range w.Count {
		name := base
		if first > 0 {
			name = fmt.Sprintf("%s %d", base, first+i)
		}
		names = append(names, name)
		for h := 1; w.profile.Heads > 1 && h <= w.profile.Heads; h++ {
			names = append(names, fmt.Sprintf("%s head %d", name, h))
		}
	}
	if slices.ContainsFunc(names, func(n string) bool { return r.taken[n] }) {
		return false
	}
	for _, n := range names {
		r.taken[n] = true
	}
	return true
}

// kindName is the name of fixtures that have none.
func (w *row) kindName() string {
	switch {
	case w.use == hazer:
		return "hazer"
	case w.use == other:
		return "device"
	case w.place.use == houseLight:
		if w.Count == 1 {
			return "house lights"
		}
		return "house light"
	case w.place.use == front:
		return "front"
	case len(w.moves) > 0:
		return "mover"
	case w.profile.Heads > 1:
		return "bar"
	case w.class == hued:
		return "wash"
	case w.class == tunable:
		return "white"
	}
	return "lamp"
}

// endsInNumbers matches "wash 1", "wash1-4" and "Wash 1 - 4".
var endsInNumbers = regexp.MustCompile(`^(.*?[^0-9\s._-])[\s._#-]*?([0-9]{1,4})(?:\s*(?:-|–|to|\.\.|…)\s*([0-9]{1,4}))?$`)

// splitName parts a name from its number or range; number 0: it has none.
func splitName(text string) (base string, number, count int) {
	text = strings.TrimSpace(text)
	m := endsInNumbers.FindStringSubmatch(text)
	if m == nil {
		return text, 0, 1
	}
	first, _ := strconv.Atoi(m[2])
	last := first
	if m[3] != "" {
		last, _ = strconv.Atoi(m[3])
	}
	if first == 0 || last < first || last-first >= maxCount {
		return text, 0, 1
	}
	return m[1], first, last - first + 1
}

// cleanName makes a name that rig.yaml takes: letters, digits, spaces and some signs, at
// most 48 letters, so that a number and a head's number still fit.
func cleanName(text string) string {
	name := strings.Map(func(c rune) rune {
		if unicode.IsLetter(c) || unicode.IsNumber(c) || strings.ContainsRune("'’&.()/!+", c) {
			return c
		}
		return ' '
	}, strings.ToValidUTF8(text, " "))
	letters := []rune(strings.Join(strings.Fields(name), " "))
	name = string(letters[:min(len(letters), 48)])
	name = strings.TrimLeftFunc(name, func(c rune) bool { return !unicode.IsLetter(c) && !unicode.IsNumber(c) })
	return strings.TrimRightFunc(name, func(c rune) bool { return !unicode.IsLetter(c) && !unicode.IsNumber(c) && c != ')' })
}

// cleanText makes a text of one line, of at most 60 letters.
func cleanText(text string) string {
	text = strings.Join(strings.FieldsFunc(strings.ToValidUTF8(text, " "), func(c rune) bool {
		return unicode.IsSpace(c) || unicode.IsControl(c) || !unicode.IsPrint(c)
	}), " ")
	letters := []rune(text)
	text = strings.TrimSpace(string(letters[:min(len(letters), 60)]))
	for len(text) > 63 { // octets of a source's name (E1.31-2018, 6.2.2)
		letters = []rune(text)
		text = strings.TrimSpace(string(letters[:len(letters)-1]))
	}
	return text
}
