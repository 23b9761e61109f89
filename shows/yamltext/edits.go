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
		from = len(strings.TrimRight(d.src[:from], " \t\r\n"))
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
	return d.take(m.node.Line, d.withEntry(m, i, language.Quote(key)+": "+value), want, nil)
}

// AddList is [Document.AddKey] for a list, with a line for each item below an empty line
// where the mapping has lines of its own. Items are YAML on one line.
func (d *Document) AddList(p Path, key string, items []string, after string) error {
	m, err := d.need(p)
	if err != nil {
		return err
	}
	i := m.index(after)
	value := "[" + strings.Join(items, ", ") + "]"
	if m.flow || i < 0 || len(items) == 0 {
		return d.AddKey(p, key, value, after)
	}
	now, err := d.valueTree(value)
	if err != nil {
		return err
	}
	want := treeOf(d.root.node)
	t := want.at(p)
	t.keys, t.values = slices.Insert(t.keys, i+1, key), slices.Insert(t.values, i+1, now)
	in := strings.Repeat(" ", m.indent)
	lines := []string{"", in + language.Quote(key) + ":"}
	for _, item := range items {
		lines = append(lines, in+"  - "+item)
	}
	return d.take(m.node.Line, d.withLine(m.values[i].end, strings.Join(lines, d.newline())), want, nil)
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
	return d.withLine(m.values[i].end, strings.Repeat(" ", m.indent)+text)
}

// withLine returns the file's text with another line below that of an octet.
func (d *Document) withLine(at int, text string) string {
	end := d.lineEnd(at)
	return d.src[:end] + d.newline() + text + d.src[end:]
}

// newline returns how the file ends its lines.
func (d *Document) newline() string {
	if strings.Contains(d.src, "\r\n") {
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
	switch {
	case m.flow:
		from, to = d.between(m.start, m.end, extentsOf(m), i)
	case len(m.keys) == 1:
		return d.refuseAt(m.keys[i], fmt.Sprintf("%q is the only key here", m.keys[i].node.Value), "remove what it stands under")
	case strings.TrimSpace(d.src[d.lineStart(from):from]) == "": // the entry has lines of its own
		from, to = d.wholeLines(from, to)
	default: // behind a dash
		to = m.keys[i+1].start
	}
	return d.take(m.keys[i].node.Line, d.src[:from]+d.src[to:], want, d.commentsIn(from, to))
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

// between returns what goes with one of the parts between brackets, so that commas stay
// right.
func (d *Document) between(start, end int, parts []part, i int) (from, to int) {
	switch {
	case i > 0:
		return parts[i-1].end, parts[i].end
	case len(parts) > 1:
		return parts[0].start, parts[1].start
	}
	return start + 1, end - 1
}
