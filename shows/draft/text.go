package draft

import (
	"slices"
	"strings"
)

// text is a song file by lines.
type text struct {
	lines []string // without their ends
	cr    string   // "\r" in files that end their lines with it
	whole bool     // the last line has an end too
	mine  []bool   // drafted lines that nobody has changed
	head  int      // the drafted line "cues:", or -1
	gap   bool     // with a blank line above that was drafted with it
	odd   bool     // it has line ends that YAML counts and editors do not
}

const heading = "cues:" + mark + "change a line and it is yours"

// saltGap marks a heading that came with a blank line.
const saltGap = "gap"

func read(src []byte) *text {
	t := &text{head: -1}
	s := string(src)
	if t.whole = strings.HasSuffix(s, "\n"); t.whole {
		s = s[:len(s)-1]
	}
	t.lines = strings.Split(s, "\n")
	if len(t.lines) > 0 && strings.HasSuffix(t.lines[0], "\r") {
		t.cr = "\r"
	}
	t.mine = make([]bool, len(t.lines))
	t.odd = strings.ContainsAny(s, "\u0085\u2028\u2029")
	for i, line := range t.lines {
		if cr := strings.IndexByte(line, '\r'); cr >= 0 && cr < len(line)-1 {
			t.odd = true
		}
		line = strings.TrimSuffix(line, "\r")
		_, cue := place(strings.TrimLeft(line, " "))
		switch {
		case cue:
			t.mine[i] = untouched(strings.TrimLeft(line, " "), "")
		case strings.HasPrefix(line, "cues:") && (untouched(line, "") || untouched(line, saltGap)):
			t.head, t.gap = i, untouched(line, saltGap) && i > 0 && strings.TrimSpace(t.lines[i-1]) == ""
		}
	}
	return t
}

func (t *text) bytes(lines []string) []byte {
	s := strings.Join(lines, "\n")
	if t.whole {
		s += "\n"
	}
	return []byte(s)
}

// Clear removes the drafted lines that nobody has changed from a song file, and
// returns how many cues those were.
func Clear(src []byte) ([]byte, int) {
	t := read(src)
	lines, _ := t.cleared()
	n := 0
	for _, mine := range t.mine {
		if mine {
			n++
		}
	}
	return t.bytes(lines), n
}

// cleared returns the lines that people wrote, and the number of each in the file.
func (t *text) cleared() (lines []string, from []int) {
	drop := make([]bool, len(t.lines))
	copy(drop, t.mine)
	if t.head >= 0 && !t.items(t.head+1) {
		drop[t.head] = true
		if t.gap {
			drop[t.head-1] = true
		}
	}
	for i, line := range t.lines {
		if !drop[i] {
			lines, from = append(lines, line), append(from, i)
		}
	}
	return lines, from
}

// items reports whether a person wrote an item of the list from a line on.
func (t *text) items(from int) bool {
	for i := from; i < len(t.lines); i++ {
		line := strings.TrimSpace(t.lines[i])
		if t.mine[i] || line == "" || line[0] == '#' {
			continue
		}
		return line[0] == '-' || t.lines[i][0] == ' '
	}
	return false
}

// drafted lists the places of drafted lines that nobody has changed.
func (t *text) drafted() map[string]bool {
	places := map[string]bool{}
	for i, mine := range t.mine {
		if mine {
			at, _ := place(strings.TrimLeft(t.lines[i], " "))
			places[at] = true
		}
	}
	return places
}

// removed lists the drafted lines of the file that a new draft does not have again,
// in the order of the file.
func (t *text) removed(cues []Cue) (rows []Row) {
	for i, mine := range t.mine {
		if !mine {
			continue
		}
		at, _ := place(strings.TrimLeft(strings.TrimSuffix(t.lines[i], "\r"), " "))
		if !slices.ContainsFunc(cues, func(c Cue) bool { return c.At == at }) {
			rows = append(rows, Row{At: at, Energy: -1, Reason: "taken out; it was drafted for: " + reasonOf(t.lines[i]), Removed: true})
		}
	}
	return rows
}

// reasonOf returns the reason in a drafted line.
func reasonOf(line string) string {
	_, reason, _ := strings.Cut(line, mark)
	if m := seal.FindStringSubmatch(strings.TrimSuffix(reason, "\r")); m != nil {
		return m[1]
	}
	return reason
}

// declined lists the places of drafted lines that are commented out.
func (t *text) declined() map[string]bool {
	places := map[string]bool{}
	for _, line := range t.lines {
		if m := declined.FindStringSubmatch(strings.TrimSuffix(line, "\r")); m != nil {
			if at, ok := place(m[1]); ok {
				places[at] = true
			}
		}
	}
	return places
}
