package merge

import (
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	yaml "go.yaml.in/yaml/v4"

	"tactus/shows/songtext"
)

// editor collects edits of a file's lines, counted from 0. They are made all at once.
type editor struct {
	songtext.Text
	name      string           // of the file, for errors
	spans     map[int][]span   // replaced parts of lines
	drop      map[int]bool     // lines that go
	commented map[int]bool     // lines that become comments
	above     map[int][]string // new lines before a line
	below     map[int][]string // new lines after a line
}

// span is a part of a line, in octets, and what it becomes.
type span struct {
	from, to int
	text     string
}

func newEditor(name string, src []byte) *editor {
	return &editor{
		Text: songtext.Read(src), name: name, spans: map[int][]span{}, drop: map[int]bool{}, commented: map[int]bool{},
		above: map[int][]string{}, below: map[int][]string{},
	}
}

// byHand is the error for a part of a file that cannot be edited; line counts from 0.
func (e *editor) byHand(line int, what string) error {
	return fmt.Errorf("%s:%d: %s; nothing is written", e.name, line+1, what)
}

// findScalar returns the line of a scalar, and the octets from and to in it.
func (e *editor) findScalar(n *yaml.Node) (line, from, to int, err error) {
	line = n.Line - 1
	text := e.Lines[line]
	for range n.Column - 1 {
		_, size := utf8.DecodeRuneInString(text[from:])
		from += size
	}
	switch rest := text[from:]; {
	case n.Style&yaml.DoubleQuotedStyle != 0:
		to = 1
		for to < len(rest) && rest[to] != '"' {
			if rest[to] == '\\' {
				to++
			}
			to++
		}
		to++
	case n.Style&yaml.SingleQuotedStyle != 0:
		to = len("'" + strings.ReplaceAll(n.Value, "'", "''") + "'")
	case strings.HasPrefix(rest, n.Value):
		to = len(n.Value)
	}
	if to == 0 || from+to > len(text) {
		return 0, 0, 0, e.byHand(line, fmt.Sprintf("%q cannot be replaced; write it on one line", n.Value))
	}
	return line, from, from + to, nil
}

// replaceScalar gives a scalar another text.
func (e *editor) replaceScalar(n *yaml.Node, text string) error {
	line, from, to, err := e.findScalar(n)
	e.spans[line] = append(e.spans[line], span{from, to, text})
	return err
}

// addKey adds a key to a record, behind another of its values.
func (e *editor) addKey(record, value *yaml.Node, text string) error {
	line, _, to, err := e.findScalar(value)
	if err != nil {
		return err
	}
	if record.Style&yaml.FlowStyle != 0 {
		e.spans[line] = append(e.spans[line], span{to, to, ", " + text})
		return nil
	}
	e.below[line] = append(e.below[line], strings.Repeat(" ", record.Content[0].Column-1)+text+e.CR)
	return nil
}

// removeKey takes a key out of a record.
func (e *editor) removeKey(record, key, value *yaml.Node) error {
	line, from, _, err := e.findScalar(key)
	if err != nil {
		return err
	}
	last, _, to, err := e.findScalar(value)
	if err != nil {
		return err
	}
	text := e.Lines[line]
	if last != line {
		return e.byHand(line, fmt.Sprintf("%q cannot be removed; write it on one line", key.Value))
	}
	if record.Style&yaml.FlowStyle == 0 {
		if at := strings.Index(text[to:], " #"); at >= 0 { // the comment stays
			e.spans[line] = append(e.spans[line], span{from, to + at + 1, ""})
		} else {
			e.drop[line] = true
		}
		return nil
	}
	before, after := strings.TrimRight(text[:from], " "), strings.TrimLeft(text[to:], " ")
	switch {
	case strings.HasSuffix(before, ","):
		from = len(before) - 1
	case strings.HasPrefix(after, ","):
		to = len(text) - len(strings.TrimLeft(after[1:], " "))
	default:
		return e.byHand(line, fmt.Sprintf("%q cannot be removed; write its record on one line", key.Value))
	}
	e.spans[line] = append(e.spans[line], span{from, to, ""})
	return nil
}

// commentOut makes comments of an item's lines, below one that says why.
func (e *editor) commentOut(it item, why string) {
	e.above[it.from] = append(e.above[it.from], indent(e.Lines[it.from])+"# "+why+e.CR)
	for i := it.from; i < it.to; i++ {
		e.commented[i] = true
	}
}

// written is a line of the result, and the line of the file that it is, from 1; 0: it is
// new.
type written struct {
	text string
	from int
}

// rendered returns the lines from and to as edited.
func (e *editor) rendered(from, to int) (lines []written) {
	for i := from; i < to; i++ {
		lines = append(lines, newLines(e.above[i])...)
		if !e.drop[i] {
			lines = append(lines, written{e.editedLine(i), i + 1})
		}
		lines = append(lines, newLines(e.below[i])...)
	}
	return lines
}

func newLines(texts []string) (lines []written) {
	for _, text := range texts {
		lines = append(lines, written{text: text})
	}
	return lines
}

func (e *editor) editedLine(i int) string {
	text := e.Lines[i]
	spans := slices.Clone(e.spans[i])
	slices.SortStableFunc(spans, func(a, b span) int { return b.from - a.from })
	for n := len(spans) - 1; n > 0; n-- { // no part twice
		spans[n-1].from = max(spans[n-1].from, spans[n].to)
		spans[n-1].to = max(spans[n-1].to, spans[n-1].from)
	}
	for _, s := range spans {
		text = text[:s.from] + s.text + text[s.to:]
	}
	if in := indent(text); e.commented[i] && !songtext.IsRemark(text) {
		text = in + "# " + text[len(in):]
	}
	return text
}

func indent(line string) string { return line[:len(line)-len(strings.TrimLeft(line, " "))] }
