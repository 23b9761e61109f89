package yamltext

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	yaml "go.yaml.in/yaml/v4"

	"tactus/shows/language"
)

// Set gives a value another text, as YAML on one line: 40 %, "a: b", {intensity: 40 %},
// [a, b]. A comment on its line stays.
func (d *Document) Set(p Path, value string) error {
	e, err := d.need(p)
	if err != nil {
		return err
	}
	now, err := d.valueTree(value)
	if err != nil {
		return err
	}
	want := treeOf(d.root.node)
	*want.at(p) = *now
	return d.take(e.node.Line, d.replaced(e, value), want, nil)
}

// replaced returns the file's text with another value, which has a space before it where
// it needs one.
func (d *Document) replaced(e *extent, value string) string {
	from := e.start
	if (e.isMapping() || e.isList()) && !e.flow && e != d.root { // on the line of its key or dash
		comments := strings.TrimRight(d.src[e.after:e.start], " \t\r\n")
		return d.src[:e.after] + " " + value + comments + d.src[e.end:]
	}
	if from > 0 && strings.IndexByte(" \t\n[{", d.src[from-1]) < 0 {
		value = " " + value
	}
	return d.src[:from] + value + d.src[e.end:]
}

// SetText gives a value another text, and keeps its kind of quotes.
func (d *Document) SetText(p Path, text string) error {
	e, err := d.need(p)
	if err != nil {
		return err
	}
	return d.Set(p, likeQuoted(e, text))
}

// likeQuoted returns a text as YAML, in the quotes that a value has, or in none if it has
// none and the text needs none.
func likeQuoted(e *extent, text string) string {
	printable := strings.IndexFunc(text, func(r rune) bool { return !strconv.IsPrint(r) }) < 0
	switch {
	case e.node.Style&yaml.DoubleQuotedStyle != 0:
		return strconv.Quote(text)
	case e.node.Style&yaml.SingleQuotedStyle != 0 && printable:
		return "'" + strings.ReplaceAll(text, "'", "''") + "'"
	case e.node.Style == 0 && strings.Contains(e.node.Value, ", ") && language.Quote(strings.ReplaceAll(text, ", ", " "))[0] != '"':
		return text // a comma needs quotes inside brackets only, and one stands here without
	}
	return language.Quote(text)
}

// RenameKey gives a key another name, and keeps its kind of quotes.
func (d *Document) RenameKey(p Path, to string) error {
	m, i, err := d.entry(p)
	if err != nil {
		return err
	}
	key := m.keys[i]
	if to != key.node.Value && m.index(to) >= 0 {
		return d.refuseAt(key, fmt.Sprintf("the key %q is there already", language.Shorten(to)), "choose another name")
	}
	want := treeOf(d.root.node)
	want.at(p[:len(p)-1]).keys[i] = to
	return d.take(key.node.Line, d.src[:key.start]+likeQuoted(key, to)+d.src[key.end:], want, nil)
}

// AddKey adds a key with a value on one line to a mapping, behind another of its keys, or
// at its end if after is "".
func (d *Document) AddKey(p Path, key, value, after string) error {
	return d.addEntry(p, key, value, after, nil)
}

// AddBlock is [Document.AddKey] for a mapping or a list that is written in lines of its own
// below its key; lines has them, without the indent of the whole. Between braces, value is
// written instead, which says the same on one line.
func (d *Document) AddBlock(p Path, key, value string, lines []string, after string) error {
	list := []string{language.Quote(key) + ":"}
	for _, line := range lines {
		list = append(list, "  "+line)
	}
	return d.addEntry(p, key, value, after, list)
}

// AddList is [Document.AddKey] for a list, with a line for each item below an empty line
// where the mapping has lines of its own. Items are YAML on one line.
func (d *Document) AddList(p Path, key string, items []string, after string) error {
	value := "[" + strings.Join(items, ", ") + "]"
	if len(items) == 0 {
		return d.AddKey(p, key, value, after)
	}
	lines := []string{"", language.Quote(key) + ":"}
	for _, item := range items {
		lines = append(lines, "  - "+item)
	}
	return d.addEntry(p, key, value, after, lines)
}

// addEntry adds a key behind another, or at the end of a mapping if after is "": in the
// given lines where there are any and the mapping has lines of its own, else with its value
// on one line.
func (d *Document) addEntry(p Path, key, value, after string, lines []string) error {
	m, err := d.need(p)
	if err != nil {
		return err
	}
	now, err := d.valueTree(value)
	if err != nil {
		return err
	}
	if !m.isMapping() || m.index(key) >= 0 {
		return d.refuseAt(m, fmt.Sprintf("the key %q cannot be added here", language.Shorten(key)), "a new key of a mapping is wanted")
	}
	i := len(m.keys) - 1
	if after != "" {
		if i = m.index(after); i < 0 {
			return d.refuseAt(m, fmt.Sprintf("there is no key %q", language.Shorten(after)), "")
		}
	}
	want := treeOf(d.root.node)
	t := want.at(p)
	t.keys, t.values = slices.Insert(t.keys, i+1, key), slices.Insert(t.values, i+1, now)
	if m.flow || len(lines) == 0 {
		return d.take(m.node.Line, d.withEntry(m, i, language.Quote(key)+": "+value), want, nil)
	}
	return d.take(m.node.Line, d.withLines(m.values[i].end, m.indent, lines), want, nil)
}

// CopyKey adds a copy of a key and its value, with all their lines, under another name
// behind it.
func (d *Document) CopyKey(p Path, to string) error {
	m, i, err := d.entry(p)
	if err != nil {
		return err
	}
	if m.index(to) >= 0 {
		return d.refuseAt(m.keys[i], fmt.Sprintf("the key %q is there already", language.Shorten(to)), "choose another name")
	}
	want := treeOf(d.root.node)
	t := want.at(p[:len(p)-1])
	t.keys, t.values = slices.Insert(t.keys, i+1, to), slices.Insert(t.values, i+1, t.values[i])
	text := language.Quote(to) + d.src[m.keys[i].end:m.values[i].end]
	return d.take(m.keys[i].node.Line, d.withEntry(m, i, text), want, nil)
}

// withEntry returns the file's text with an entry behind entry i of a mapping; -1: it has
// none.
func (d *Document) withEntry(m *extent, i int, text string) string {
	switch {
	case i < 0:
		return d.src[:m.start] + "{" + text + "}" + d.src[m.end:]
	case m.flow:
		return d.src[:m.values[i].end] + ", " + text + d.src[m.values[i].end:]
	}
	return d.withLines(m.values[i].end, m.indent, []string{text})
}

// withLines returns the file's text with other lines below that of an octet. They are
// indented, except for empty ones.
func (d *Document) withLines(at, indent int, lines []string) string {
	end := d.lineEnd(at)
	var text strings.Builder
	for _, line := range lines {
		text.WriteString(d.newline(end))
		if line != "" {
			text.WriteString(strings.Repeat(" ", indent) + line)
		}
	}
	return d.src[:end] + text.String() + d.src[end:]
}

// newline returns how a line ends that is written beside the one that ends at an octet: as
// that one does. The last line may have no end; then it is as any other of the file.
func (d *Document) newline(end int) string {
	if rest := d.src[end:]; strings.HasPrefix(rest, "\r\n") || rest == "" && strings.Contains(d.src, "\r\n") {
		return "\r\n"
	}
	return "\n"
}

// RemoveKey removes a key and its value, with the comments on their lines. Comments above
// stay. The last key of a mapping in block style cannot be removed.
func (d *Document) RemoveKey(p Path) error {
	m, i, err := d.entry(p)
	if err != nil {
		return err
	}
	want := treeOf(d.root.node)
	t := want.at(p[:len(p)-1])
	t.keys, t.values = slices.Delete(t.keys, i, i+1), slices.Delete(t.values, i, i+1)
	from, to := m.keys[i].start, m.values[i].end
	lost := d.commentsIn(from, d.lineEnd(to))
	switch {
	case m.flow:
		from, to, lost = d.between(m, i)
	case len(m.keys) == 1:
		return d.refuseAt(m.keys[i], fmt.Sprintf("%q is the only key here", m.keys[i].node.Value), "remove what it stands under")
	case strings.TrimSpace(d.src[d.lineStart(from):from]) == "": // the entry has lines of its own
		from, to = d.wholeLines(from, to)
	case i+1 < len(m.keys): // behind a dash
		to = m.keys[i+1].start
	default: // behind a question mark
		return d.byHand(m.keys[i].node.Line)
	}
	return d.take(m.keys[i].node.Line, d.src[:from]+d.src[to:], want, lost)
}

// wholeLines extends a part of the file to whole lines, with the line end behind it, or
// the one before where there is none behind.
func (d *Document) wholeLines(from, to int) (int, int) {
	from, to = d.lineStart(from), d.lineEnd(to)
	if rest := d.src[to:]; rest != "" {
		return from, to + len(rest) - len(strings.TrimPrefix(strings.TrimPrefix(rest, "\r"), "\n"))
	}
	return len(strings.TrimSuffix(strings.TrimSuffix(d.src[:from], "\n"), "\r")), to
}

// part is an entry or an item between brackets.
type part struct{ start, end int }

func extentsOf(e *extent) (list []part) {
	for i, v := range e.values {
		p := part{v.start, v.end}
		if e.isMapping() {
			p.start = e.keys[i].start
		}
		list = append(list, p)
	}
	return list
}

// between returns what goes with an entry or an item between brackets, so that commas stay
// right, and the comments that go with it. One that has lines of its own takes them along,
// with the comment at their end.
func (d *Document) between(e *extent, i int) (from, to int, lost []string) {
	parts := extentsOf(e)
	p := parts[i]
	behind := strings.TrimLeft(strings.TrimPrefix(strings.TrimLeft(d.src[p.end:d.lineEnd(p.end)], " \t"), ","), " \t")
	alone := strings.TrimSpace(d.src[d.lineStart(p.start):p.start]) == "" && (behind == "" || behind[0] == '#')
	switch {
	case alone && d.lineStart(p.start) > e.start:
		from, to = d.wholeLines(p.start, p.end)
		return from, to, d.commentsIn(from, to)
	case i > 0:
		from, to = parts[i-1].end, p.end
	case len(parts) > 1:
		from, to = p.start, parts[1].start
	default:
		from, to = e.start+1, e.end-1
	}
	return from, to, d.commentsIn(p.start, p.end)
}
