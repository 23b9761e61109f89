package compose

import (
	"bytes"
	"fmt"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	yaml "go.yaml.in/yaml/v4"

	"tactus/shows/songtext"
)

// layout knows where each value of a file stands, in octets.
type layout struct {
	name   string
	src    []byte
	root   *yaml.Node
	starts []int // of the lines
	cr     string
}

// layout returns where the values of a file stand. Files with line ends that YAML counts
// and editors do not, with anchors, aliases or tags, and with texts over several lines
// that begin with | or > are not edited.
func (f *files) layout(name string) (*layout, error) {
	root, err := f.tree(name)
	if err != nil {
		return nil, err
	}
	src := f.sources[name]
	t := songtext.Read(src)
	if t.Odd {
		return nil, refuse(name, 0, "the file has line ends that only some programs count (U+0085, U+2028, U+2029 or a carriage return alone)", "remove them with an editor")
	}
	if bytes.HasPrefix(src, []byte("\ufeff")) {
		return nil, refuse(name, 1, "the file begins with a byte order mark", "save it as UTF-8 without one")
	}
	l := &layout{name: name, src: src, root: root, starts: []int{0}, cr: t.CR}
	for i, c := range src {
		if c == '\n' {
			l.starts = append(l.starts, i+1)
		}
	}
	return l, l.plain(root)
}

// plain returns an error for a part of the file that cannot be edited.
func (l *layout) plain(n *yaml.Node) error {
	switch {
	case n.Kind == yaml.AliasNode || n.Anchor != "" || n.Style&yaml.TaggedStyle != 0:
		return refuse(l.name, n.Line, "an anchor, an alias or a tag stands here", "write the value out")
	case n.Style&(yaml.LiteralStyle|yaml.FoldedStyle) != 0:
		return refuse(l.name, n.Line, "a text over several lines stands here", "write it on one line, in quotes")
	}
	for _, inside := range n.Content {
		if err := l.plain(inside); err != nil {
			return err
		}
	}
	return nil
}

// start returns the octet where a node begins.
func (l *layout) start(n *yaml.Node) int {
	at := l.starts[n.Line-1]
	for range n.Column - 1 {
		_, size := utf8.DecodeRune(l.src[at:])
		at += size
	}
	return at
}

// end returns the octet behind a node.
func (l *layout) end(n *yaml.Node) (int, error) {
	at := l.start(n)
	switch {
	case n.Kind == yaml.ScalarNode:
		return l.endOfScalar(n, at)
	case n.Style&yaml.FlowStyle != 0:
		return l.endOfFlow(n, at)
	case len(n.Content) == 0:
		return at, nil
	}
	return l.end(n.Content[len(n.Content)-1])
}

func (l *layout) endOfScalar(n *yaml.Node, at int) (int, error) {
	rest := l.src[at:]
	switch {
	case n.Style&yaml.DoubleQuotedStyle != 0:
		for i := 1; i < len(rest); i++ {
			switch rest[i] {
			case '\\':
				i++
			case '"':
				return at + i + 1, nil
			}
		}
	case n.Style&yaml.SingleQuotedStyle != 0:
		for i := 1; i < len(rest); i++ {
			switch {
			case rest[i] == '\'' && i+1 < len(rest) && rest[i+1] == '\'':
				i++
			case rest[i] == '\'':
				return at + i + 1, nil
			}
		}
	case bytes.HasPrefix(rest, []byte(n.Value)):
		return at + len(n.Value), nil
	}
	return 0, refuse(l.name, n.Line, "a value over several lines stands here", "write it on one line")
}

// endOfFlow returns the octet behind the bracket that closes a list or mapping.
func (l *layout) endOfFlow(n *yaml.Node, at int) (int, error) {
	at++
	if len(n.Content) > 0 {
		last, err := l.end(n.Content[len(n.Content)-1])
		if err != nil {
			return 0, err
		}
		at = max(at, last)
	}
	for at < len(l.src) {
		switch l.src[at] {
		case ' ', '\t', '\r', '\n', ',':
			at++
		case '#':
			at += max(1, bytes.IndexByte(append(l.src[at:len(l.src):len(l.src)], '\n'), '\n'))
		case ']', '}':
			return at + 1, nil
		default:
			return 0, refuse(l.name, n.Line, "the end of this list or mapping was not found", "write it in a simpler form")
		}
	}
	return 0, refuse(l.name, n.Line, "the end of this list or mapping was not found", "write it in a simpler form")
}

// lineStart and lineEnd return the octets where the line of an octet begins, and where it
// ends, before its line feed.
func (l *layout) lineStart(at int) int { return bytes.LastIndexByte(l.src[:at], '\n') + 1 }

func (l *layout) lineEnd(at int) int {
	if i := bytes.IndexByte(l.src[at:], '\n'); i >= 0 {
		return at + i
	}
	return len(l.src)
}

// comment is a comment of a file.
type comment struct {
	at   int
	text string
}

// comments lists the comments of a file: from a # behind a space or at the start of a
// line, outside of values, to the end of the line.
func (l *layout) comments() (list []comment, err error) {
	values := make([]bool, len(l.src))
	if err := l.mark(values, l.root); err != nil {
		return nil, err
	}
	for at := 0; at < len(l.src); at++ {
		if l.src[at] != '#' || values[at] || at > 0 && !strings.ContainsRune(" \t\n", rune(l.src[at-1])) {
			continue
		}
		end := l.lineEnd(at)
		list = append(list, comment{at, strings.TrimRight(string(l.src[at:end]), " \t\r")})
		at = end
	}
	return list, nil
}

// mark marks the octets of all words, so that a # in one is no comment.
func (l *layout) mark(values []bool, n *yaml.Node) error {
	if n.Kind == yaml.ScalarNode {
		end, err := l.end(n)
		if err != nil {
			return err
		}
		for i := l.start(n); i < end; i++ {
			values[i] = true
		}
	}
	for _, inside := range n.Content {
		if err := l.mark(values, inside); err != nil {
			return err
		}
	}
	return nil
}

// cut is a part of a file that is replaced.
type cut struct {
	from, to int // octets
	text     string
	drops    bool // the comments in it go with what they belong to
}

// splice makes cuts in a file that do to its values what change does. It checks that the
// result parses, that its values are those of the file with the change, and that each
// comment is still there, except in cuts that drop them. If not, the edit is refused.
func (f *files) splice(l *layout, change func(root *Value) bool, cuts ...cut) error {
	slices.SortStableFunc(cuts, func(a, b cut) int { return a.from - b.from })
	var out []byte
	at := 0
	for _, c := range cuts {
		out = append(append(out, l.src[at:c.from]...), c.text...)
		at = c.to
	}
	out = append(out, l.src[at:]...)
	want := valueOf(l.root)
	if !change(&want) {
		return refuse(l.name, 0, "the place to edit is not in the file", "")
	}
	comments, err := l.comments()
	if err != nil {
		return err
	}
	var left []string
	for _, c := range comments {
		if !slices.ContainsFunc(cuts, func(cut cut) bool { return cut.drops && cut.from <= c.at && c.at < cut.to }) {
			left = append(left, c.text)
		}
	}
	before := f.sources[l.name]
	f.sources[l.name] = out
	if err := f.check(l.name, l.line(cuts), want.String(), left); err != nil {
		f.sources[l.name] = before
		return err
	}
	return nil
}

// check checks what splice made.
func (f *files) check(name string, line int, values string, comments []string) error {
	byHand := func(why string) error {
		return refuse(name, line, "the edit cannot be made here: "+why, "make it with an editor")
	}
	now, err := f.layout(name)
	if err != nil {
		return byHand("the file would not be readable")
	}
	if has := valueOf(now.root); has.String() != values {
		return byHand("other values would change too")
	}
	have, err := now.comments()
	if err != nil {
		return byHand("comments would be lost")
	}
	var texts []string
	for _, c := range have {
		texts = append(texts, c.text)
	}
	slices.Sort(texts)
	slices.Sort(comments)
	if !slices.Equal(texts, comments) {
		return byHand("comments would be lost")
	}
	return nil
}

// line returns the line of the first cut, from 1.
func (l *layout) line(cuts []cut) int {
	return bytes.Count(l.src[:cuts[0].from], []byte("\n")) + 1
}

// missing is the error for a place that a file does not have.
func missing(name string, at place) error {
	return refuse(name, 0, fmt.Sprintf("there is no %v", at), "")
}

// quotedLike writes a text in the quotes that a word has now.
func quotedLike(n *yaml.Node, v Value) string {
	switch {
	case !v.quoted || strings.ContainsFunc(v.text, func(r rune) bool { return !unicode.IsPrint(r) }):
	case n.Style&yaml.DoubleQuotedStyle != 0:
		if s := scalar(v.text); s[0] == '"' {
			return s
		}
		return `"` + v.text + `"` // a text that needs no quotes has none, nor a backslash
	case n.Style&yaml.SingleQuotedStyle != 0:
		return "'" + strings.ReplaceAll(v.text, "'", "''") + "'"
	}
	return v.String()
}
