package draft

import (
	"slices"
	"strings"

	"tactus/shows/songtext"
)

// text is a song file by lines.
type text struct {
	songtext.Text
	mine []bool // drafted lines that nobody has changed
	head int    // the drafted line "cues:", or -1
	gap  bool   // with a blank line above that was drafted with it
}

const heading = "cues:" + songtext.Mark + "change a line and it is yours"

// saltGap marks a heading that came with a blank line.
const saltGap = "gap"

func read(src []byte) *text {
	t := &text{Text: songtext.Read(src), head: -1}
	t.mine = make([]bool, len(t.Lines))
	for i, line := range t.Lines {
		line = strings.TrimSuffix(line, "\r")
		_, cue := songtext.PlaceOf(strings.TrimLeft(line, " "))
		switch {
		case cue:
			t.mine[i] = songtext.Untouched(strings.TrimLeft(line, " "), "")
		case strings.HasPrefix(line, "cues:") && (songtext.Untouched(line, "") || songtext.Untouched(line, saltGap)):
			t.head, t.gap = i, songtext.Untouched(line, saltGap) && i > 0 && strings.TrimSpace(t.Lines[i-1]) == ""
		}
	}
	return t
}

// Clear removes the drafted lines that nobody has changed from a song file, and
// returns how many cues those were.
func Clear(src []byte) ([]byte, int) {
	return read(src).clear()
}

func (t *text) clear() ([]byte, int) {
	lines, _ := t.cleared()
	n := 0
	for _, mine := range t.mine {
		if mine {
			n++
		}
	}
	return t.Bytes(lines), n
}

// cleared returns the lines that people wrote, and the number of each in the file.
func (t *text) cleared() (lines []string, from []int) {
	drop := make([]bool, len(t.Lines))
	copy(drop, t.mine)
	if t.head >= 0 && !t.items(t.head+1) {
		drop[t.head] = true
		if t.gap {
			drop[t.head-1] = true
		}
	}
	for i, line := range t.Lines {
		if !drop[i] {
			lines, from = append(lines, line), append(from, i)
		}
	}
	return lines, from
}

// items reports whether a person wrote an item of the list from a line on.
func (t *text) items(from int) bool {
	for i := from; i < len(t.Lines); i++ {
		line := strings.TrimSpace(t.Lines[i])
		if t.mine[i] || line == "" || line[0] == '#' {
			continue
		}
		return line[0] == '-' || t.Lines[i][0] == ' '
	}
	return false
}

// ClearAt is [Clear] for the drafted lines at some places only, as cues have them.
func ClearAt(src []byte, chosen func(at string) bool) ([]byte, int) {
	t := read(src).only(chosen)
	return t.clear()
}

// ClearLine is [Clear] for one line only, counted from 0.
func ClearLine(src []byte, line int) []byte {
	t := read(src)
	for i := range t.mine {
		t.mine[i] = t.mine[i] && i == line
	}
	out, _ := t.clear()
	return out
}

// drafted lists the places of drafted lines that nobody has changed.
func (t *text) drafted() map[spot]bool {
	places := map[spot]bool{}
	for i, mine := range t.mine {
		if mine {
			at, _ := songtext.PlaceOf(strings.TrimLeft(t.Lines[i], " "))
			places[at] = true
		}
	}
	return places
}

// only returns the text as if people had written the drafted lines at all places but those
// that are chosen.
func (t *text) only(chosen func(at string) bool) *text {
	part := *t
	part.mine = make([]bool, len(t.mine))
	for i, mine := range t.mine {
		if mine {
			at, _ := songtext.PlaceOf(t.bare(i))
			part.mine[i] = chosen(at.At)
		}
	}
	return &part
}

// bare returns a line without its indent and its end.
func (t *text) bare(i int) string {
	return strings.TrimLeft(strings.TrimSuffix(t.Lines[i], "\r"), " ")
}

// before says what an earlier draft has at the place of a row.
func (t *text) before(r *Row, cues []Cue) Before {
	spotOf := spot{At: r.At, In: r.In}
	for i, mine := range t.mine {
		at, _ := songtext.PlaceOf(t.bare(i))
		if !mine || at != spotOf {
			continue
		}
		if k := slices.IndexFunc(cues, func(c Cue) bool { return c.spot() == spotOf }); k >= 0 && cues[k].String() == t.bare(i) {
			return TheSame
		}
		return Otherwise
	}
	return Nothing
}

// removed lists the drafted lines of the file that a new draft does not have again,
// in the order of the file.
func (t *text) removed(cues []Cue) (rows []Row) {
	for i, mine := range t.mine {
		if !mine {
			continue
		}
		at, _ := songtext.PlaceOf(strings.TrimLeft(strings.TrimSuffix(t.Lines[i], "\r"), " "))
		if !slices.ContainsFunc(cues, func(c Cue) bool { return c.spot() == at }) {
			rows = append(rows, Row{At: at.At, In: at.In, Energy: -1, Reason: "taken out; it was drafted for: " + reasonOf(t.Lines[i]), Removed: true})
		}
	}
	return rows
}

// reasonOf returns the reason in a drafted line.
func reasonOf(line string) string {
	_, reason, _ := strings.Cut(line, songtext.Mark)
	if without, _, ok := songtext.Unsealed(strings.TrimSuffix(reason, "\r")); ok {
		return without
	}
	return reason
}

// declined lists the places of drafted lines that are commented out.
func (t *text) declined() map[spot]bool {
	places := map[spot]bool{}
	for _, line := range t.Lines {
		if m := declined.FindStringSubmatch(strings.TrimSuffix(line, "\r")); m != nil {
			if at, ok := songtext.PlaceOf(m[1]); ok {
				places[at] = true
			}
		}
	}
	return places
}
