package yamltext

import (
	"strings"
	"unicode/utf8"

	yaml "go.yaml.in/yaml/v4"
)

// extent is a value with the octets that it takes.
type extent struct {
	node       *yaml.Node
	after      int // the octet behind its colon or dash, or where the value before it ends
	start, end int // without comments and line ends around it
	flow       bool
	keys       []*extent // of a mapping
	values     []*extent // of a mapping, or the items of a list
	dashes     []int     // of a list in block style: where each item's dash is
	indent     int       // of a value in block style: column of its keys or dashes, from 0
}

func (e *extent) isMapping() bool { return e.node.Kind == yaml.MappingNode }
func (e *extent) isList() bool    { return e.node.Kind == yaml.SequenceNode }

// isEmpty reports whether nothing is written for the value.
func (e *extent) isEmpty() bool {
	return e.node.Kind == yaml.ScalarNode && e.node.Value == "" && e.node.Style&(yaml.SingleQuotedStyle|yaml.DoubleQuotedStyle|yaml.LiteralStyle|yaml.FoldedStyle) == 0
}

// isBlockText reports whether the value is a text over lines of its own, after | or >.
func (e *extent) isBlockText() bool { return e.node.Style&(yaml.LiteralStyle|yaml.FoldedStyle) != 0 }

// finder finds the extents of a file's values.
type finder struct {
	src   string
	lines []int // where each line starts
	line  int   // of what cannot be edited, from 1
	why   string

	lastLine, lastColumn, lastAt int // where offset was last: values of a long line come in order
}

func newFinder(src string) *finder {
	f := &finder{src: src, lines: []int{0}}
	for i, c := range []byte(src) {
		if c == '\n' {
			f.lines = append(f.lines, i+1)
		}
	}
	return f
}

// fail notes why a value has no extent. Only the first is kept.
func (f *finder) fail(n *yaml.Node, why string) {
	if f.why == "" {
		f.line, f.why = n.Line, why
	}
}

// offset returns where a node begins. Columns count characters.
func (f *finder) offset(n *yaml.Node) int {
	if n.Line < 1 || n.Line > len(f.lines) {
		f.fail(n, "a value whose place is not known")
		return 0
	}
	at, column := f.lines[n.Line-1], 1
	if n.Line == f.lastLine && n.Column >= f.lastColumn {
		at, column = f.lastAt, f.lastColumn
	}
	for range n.Column - column {
		_, size := utf8.DecodeRuneInString(f.src[at:])
		at += size
	}
	f.lastLine, f.lastColumn, f.lastAt = n.Line, n.Column, at
	return at
}

// column returns the column of an octet, from 0, in characters.
func (f *finder) column(at int) int {
	return utf8.RuneCountInString(f.src[f.lineStart(at):at])
}

func (f *finder) lineStart(at int) int { return strings.LastIndexByte(f.src[:at], '\n') + 1 }

// lineEnd returns where the line ends, before its line feed and carriage return.
func (f *finder) lineEnd(at int) int {
	end := len(f.src)
	if i := strings.IndexByte(f.src[at:], '\n'); i >= 0 {
		end = at + i
	}
	if end > at && f.src[end-1] == '\r' {
		end--
	}
	return end
}

// find returns the extent of a node. after is where it is if nothing is written for it;
// indent is the column of the keys or dashes that it stands under.
func (f *finder) find(n *yaml.Node, after, indent int) *extent {
	e := &extent{node: n, flow: n.Style&yaml.FlowStyle != 0, after: after, start: after, end: after, indent: indent}
	switch {
	case n.Kind == yaml.AliasNode || n.Anchor != "":
		f.fail(n, "an anchor or an alias")
		return e
	case n.Style&yaml.TaggedStyle != 0:
		f.fail(n, "a tag")
		return e
	case e.isEmpty():
		return e
	}
	e.start = f.offset(n)
	e.end = e.start
	switch n.Kind {
	case yaml.MappingNode:
		f.findMapping(e)
	case yaml.SequenceNode:
		f.findList(e)
	default:
		f.findScalar(e)
	}
	if e.end > len(f.src) {
		f.fail(n, "a value whose end is not known")
		e.end = len(f.src)
	}
	return e
}

func (f *finder) findMapping(e *extent) {
	open := e.flow && strings.HasPrefix(f.src[e.start:], "{")
	at := e.start
	if open {
		at++
	}
	if !e.flow {
		e.indent = f.column(e.start)
	}
	for i := 0; i+1 < len(e.node.Content); i += 2 {
		key := f.find(e.node.Content[i], at, e.indent)
		if key.node.Kind != yaml.ScalarNode || key.isEmpty() || key.isBlockText() {
			f.fail(e.node.Content[i], "a key that is not a text")
		}
		colon := f.skip(key.end, "")
		if strings.HasPrefix(f.src[colon:], ":") {
			colon++
		} else {
			colon = key.end
		}
		value := f.find(e.node.Content[i+1], colon, e.indent)
		e.keys, e.values = append(e.keys, key), append(e.values, value)
		at = value.end
	}
	if e.end = at; open {
		e.end = f.closing(e, at, '}')
	}
}

func (f *finder) findList(e *extent) {
	at := e.start
	if e.flow {
		at++
	} else {
		e.indent = f.column(e.start)
	}
	for _, n := range e.node.Content {
		if !e.flow {
			dash := f.skip(at, "")
			if !strings.HasPrefix(f.src[dash:], "-") {
				f.fail(n, "an item without a dash")
				return
			}
			e.dashes = append(e.dashes, dash)
			at = dash + 1
		}
		item := f.find(n, at, e.indent)
		e.values = append(e.values, item)
		at = item.end
	}
	if e.end = at; e.flow {
		e.end = f.closing(e, at, ']')
	}
}

// closing returns the octet after a closing bracket.
func (f *finder) closing(e *extent, at int, bracket byte) int {
	at = f.skip(at, ",:")
	if at >= len(f.src) || f.src[at] != bracket {
		f.fail(e.node, "brackets whose end is not known")
		return at
	}
	return at + 1
}

// skip passes over white space, comments and some other characters.
func (f *finder) skip(at int, others string) int {
	for at < len(f.src) {
		switch c := f.src[at]; {
		case c == '#' && (at == 0 || strings.IndexByte(" \t\r\n", f.src[at-1]) >= 0):
			at = f.lineEnd(at)
		case strings.IndexByte(" \t\r\n", c) >= 0, strings.IndexByte(others, c) >= 0:
			at++
		default:
			return at
		}
	}
	return at
}

func (f *finder) findScalar(e *extent) {
	rest := f.src[e.start:]
	switch n := e.node; {
	case n.Style&yaml.DoubleQuotedStyle != 0:
		e.end = e.start + quotedEnd(rest, '"')
	case n.Style&yaml.SingleQuotedStyle != 0:
		e.end = e.start + quotedEnd(rest, '\'')
	case e.isBlockText():
		e.end = f.blockEnd(e)
	default:
		e.end = e.start + plainEnd(rest, n.Value)
	}
	if e.end == e.start {
		f.fail(e.node, "a text whose end is not known")
	}
}

// quotedEnd returns the length of a text in quotes at the beginning of s; 0: it has no end.
func quotedEnd(s string, quote byte) int {
	for i := 1; i < len(s); i++ {
		switch {
		case quote == '"' && s[i] == '\\':
			i++
		case s[i] == quote && quote == '\'' && i+1 < len(s) && s[i+1] == quote:
			i++
		case s[i] == quote:
			return i + 1
		}
	}
	return 0
}

// plainEnd returns the length of a text without quotes at the beginning of s, which may go
// over several lines; 0: it is another one.
func plainEnd(s, value string) int {
	at := 0
	for _, c := range value {
		if c == ' ' || c == '\n' || c == '\t' {
			continue
		}
		for at < len(s) && strings.IndexByte(" \t\r\n", s[at]) >= 0 {
			at++
		}
		if !strings.HasPrefix(s[at:], string(c)) {
			return 0
		}
		at += utf8.RuneLen(c)
	}
	return at
}

// blockEnd returns where a text over lines of its own ends: with the last line that is
// indented as its first one is, or deeper. A comment below it may be indented less (YAML
// 1.2.2, 8.1.1.1).
func (f *finder) blockEnd(e *extent) int {
	end, least := f.lineEnd(e.start), 0
	for at := end; ; {
		next := strings.IndexByte(f.src[at:], '\n')
		if next < 0 {
			return end
		}
		at += next + 1
		line := f.src[at:f.lineEnd(at)]
		text := strings.TrimLeft(line, " ")
		if strings.TrimSpace(text) == "" {
			continue
		}
		indent := len(line) - len(text)
		if least == 0 {
			least = max(indent, 1)
		}
		if indent < least || indent <= e.indent {
			return end
		}
		end = at + len(line)
	}
}
