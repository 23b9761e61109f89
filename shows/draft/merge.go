package draft

import (
	"errors"
	"slices"
	"strings"

	yaml "go.yaml.in/yaml/v4"

	"tactus/clock"
	"tactus/shows/songtext"
)

// ErrFlow is returned for a song whose cues are in brackets: lines cannot be added.
var ErrFlow = errors.New("the cues stand in [brackets]; write each on a line of its own, starting with a dash")

// ErrLines is returned for a file with line ends that YAML counts and editors do
// not: U+0085, U+2028, U+2029, or a carriage return alone (YAML 1.1, 5.4).
var ErrLines = errors.New("the file has unusual line ends; save it as plain text")

// item is a cue of the list that a person wrote.
type item struct {
	line int    // of the file, where its dash is, from 0
	at   string // as written
}

// found is the list of cues in the text of a file.
type found struct {
	head  int // line of "cues:", or -1
	items []item
	end   int // line behind the list
	dash  int // column of its dashes
}

// find looks for the list of cues in the lines that people wrote.
func (t *text) find() (found, error) {
	lines, from := t.cleared()
	if t.Odd {
		return found{}, ErrLines
	}
	f := found{head: t.head, end: len(t.Lines), dash: 2}
	for i, mine := range t.mine {
		if mine {
			f.dash = strings.Index(t.Lines[i], "-")
		}
	}
	var doc yaml.Node
	if err := yaml.Unmarshal(t.Bytes(lines), &doc); err != nil || len(doc.Content) == 0 {
		return f, err
	}
	keys := doc.Content[0].Content
	next := false
	for i := 0; i+1 < len(keys); i += 2 {
		key, val := keys[i], keys[i+1]
		if next {
			f.end = from[key.Line-1]
			break
		}
		if key.Value != "cues" {
			continue
		}
		next = true
		f.head = from[key.Line-1]
		if val.Kind != yaml.SequenceNode {
			continue
		}
		if val.Style&yaml.FlowStyle != 0 {
			return f, ErrFlow
		}
		for _, n := range val.Content {
			line := n.Line - 1
			for line > key.Line && !strings.HasPrefix(strings.TrimLeft(lines[line], " "), "-") {
				line-- // the dash has a line of its own
			}
			f.dash = max(0, strings.Index(lines[line], "-"))
			f.items = append(f.items, item{from[line], valueOf(n, "at")})
		}
	}
	if t.head >= 0 && !next {
		f.end = t.past(t.head)
	}
	return f, nil
}

// past returns the line after the drafted lines below a drafted heading.
func (t *text) past(head int) int {
	end := head + 1
	for i := end; i < len(t.Lines); i++ {
		if t.mine[i] {
			end = i + 1
		}
	}
	return end
}

func valueOf(n *yaml.Node, key string) string {
	for i := 0; i+1 < len(n.Content); i += 2 {
		if n.Content[i].Value == key {
			return n.Content[i+1].Value
		}
	}
	return ""
}

// entry is a cue of the list that stays.
type entry struct {
	line int // of the file
	beat clock.Beat
}

// mergeCues puts the cues into the file: each replaces the drafted line for the same
// place, or follows the cue before it. Other drafted lines are removed.
func (t *text) mergeCues(cues []Cue, beat func(at string) clock.Beat) ([]byte, error) {
	f, err := t.find()
	if err != nil {
		return nil, err
	}
	if len(cues) == 0 {
		lines, _ := t.cleared()
		return t.Bytes(lines), nil
	}
	over := map[int]string{}     // drafted lines that stay
	behind := map[int][]string{} // new lines
	slots := map[spot]int{}
	for i := len(t.Lines) - 1; i >= 0; i-- {
		if t.mine[i] {
			at, _ := songtext.PlaceOf(strings.TrimSpace(t.Lines[i]))
			slots[at] = i
		}
	}
	var stay []entry
	for _, it := range f.items {
		stay = append(stay, entry{it.line, beat(it.at)})
	}
	indent := strings.Repeat(" ", f.dash)
	var fresh []Cue
	for _, c := range cues {
		if i, ok := slots[c.spot()]; ok {
			over[i] = indent + c.String() + t.CR
			stay = append(stay, entry{i, beat(c.At)})
		} else {
			fresh = append(fresh, c)
		}
	}
	slices.SortFunc(stay, func(a, b entry) int { return a.line - b.line })
	for _, c := range fresh {
		i := t.behind(stay, f, beat(c.At))
		behind[i] = append(behind[i], indent+c.String()+t.CR)
	}
	return t.Bytes(t.merge(f, over, behind)), nil
}

// behind returns the line after which a new cue goes: the end of the last cue of the
// list that comes before it in the song.
func (t *text) behind(stay []entry, f found, beat clock.Beat) int {
	line, end := f.head, f.head+1
	for i, e := range stay {
		if e.beat > beat {
			continue
		}
		line, end = e.line, f.end
		if i+1 < len(stay) {
			end = stay[i+1].line
		}
	}
	if line < 0 || line == f.head || t.mine[line] {
		return line
	}
	// A person's cue may have several lines. Comments above the next cue belong to that.
	for end > line+1 && t.remark(end-1) {
		end--
	}
	return end - 1
}

// remark reports whether a line is empty or a comment, or is removed.
func (t *text) remark(i int) bool {
	return songtext.IsRemark(t.Lines[i]) || t.mine[i]
}

func (t *text) merge(f found, over map[int]string, behind map[int][]string) []string {
	var lines []string
	for i, line := range t.Lines {
		if s, ok := over[i]; ok {
			lines = append(lines, s)
		} else if !t.mine[i] {
			lines = append(lines, line)
		}
		lines = append(lines, behind[i]...)
	}
	if f.head >= 0 {
		return lines
	}
	salt := ""
	if last := len(lines) - 1; last >= 0 && strings.TrimSpace(lines[last]) != "" {
		salt = saltGap
		lines = append(lines, t.CR)
	}
	return append(append(lines, songtext.Sealed(heading, salt)+t.CR), behind[-1]...)
}
