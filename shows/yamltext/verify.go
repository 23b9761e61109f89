package yamltext

import (
	"fmt"
	"slices"
	"strings"

	yaml "go.yaml.in/yaml/v4"

	"tactus/shows/language"
)

// tree is what a file says, without how it is written.
type tree struct {
	kind      yaml.Kind
	tag, text string
	keys      []string // of a mapping
	values    []*tree
}

// treeOf returns what a node says.
func treeOf(n *yaml.Node) *tree {
	t := &tree{kind: n.Kind}
	switch n.Kind {
	case yaml.MappingNode:
		for i := 0; i+1 < len(n.Content); i += 2 {
			t.keys = append(t.keys, n.Content[i].Value)
			t.values = append(t.values, treeOf(n.Content[i+1]))
		}
	case yaml.SequenceNode:
		for _, item := range n.Content {
			t.values = append(t.values, treeOf(item))
		}
	default:
		t.tag, t.text = n.ShortTag(), n.Value
	}
	return t
}

// at returns the tree at a path that exists.
func (t *tree) at(p Path) *tree {
	for _, step := range p {
		if key, ok := step.(string); ok {
			t = t.values[slices.Index(t.keys, key)]
		} else {
			t = t.values[step.(int)]
		}
	}
	return t
}

// valueTree returns what a value on one line says.
func (d *Document) valueTree(value string) (*tree, error) {
	var n yaml.Node
	err := yaml.Unmarshal([]byte(value), &n)
	if err != nil || n.Kind != yaml.DocumentNode || strings.ContainsAny(value, "\r\n\u0085\u2028\u2029") {
		return nil, d.refuse(0, fmt.Sprintf("%q is not a value on one line", language.Shorten(value)), "")
	}
	return treeOf(n.Content[0]), nil
}

func (t *tree) equal(u *tree) bool {
	return t.kind == u.kind && t.tag == u.tag && t.text == u.text && slices.Equal(t.keys, u.keys) &&
		slices.EqualFunc(t.values, u.values, (*tree).equal)
}

// comment is a comment and where it begins.
type comment struct {
	at   int
	text string
}

// collect finds the comments of a file: what stands after a # outside of texts. It
// returns where it got to.
func (d *Document) collect(e *extent, at int) int {
	switch {
	case e.isMapping():
		for i := range e.keys {
			at = d.collect(e.keys[i], at)
			at = d.collect(e.values[i], at)
		}
	case e.isList():
		for _, item := range e.values {
			at = d.collect(item, at)
		}
	default:
		d.collectIn(at, e.start)
		if at = e.end; e.isBlockText() {
			d.collectIn(e.start, d.lineEnd(e.start)) // behind | or >
		}
	}
	if e == d.root {
		d.collectIn(at, len(d.src))
	}
	return at
}

func (d *Document) collectIn(from, to int) {
	for at := from; at < to; at++ {
		if d.src[at] == '#' && (at == 0 || strings.IndexByte(" \t\r\n", d.src[at-1]) >= 0) {
			end := d.lineEnd(at)
			d.comments = append(d.comments, comment{at, d.src[at:end]})
			at = end
		}
	}
}

// commentsIn lists the comments between two octets.
func (d *Document) commentsIn(from, to int) (list []string) {
	for _, c := range d.comments {
		if c.at >= from && c.at < to {
			list = append(list, c.text)
		}
	}
	return list
}

// take makes src the document's text, if it says what want says and has every comment
// that the text had, except for lost ones. Otherwise nothing changes.
func (d *Document) take(line int, src string, want *tree, lost []string) error {
	next := &Document{name: d.name, mark: d.mark, src: src}
	if err := next.parse(); err != nil {
		return d.byHand(line)
	}
	if !treeOf(next.root.node).equal(want) {
		return d.byHand(line)
	}
	have := map[string]int{}
	for _, c := range next.comments {
		have[c.text]++
	}
	for _, text := range lost {
		have[text]++
	}
	for _, c := range d.comments {
		if have[c.text]--; have[c.text] < 0 {
			return d.refuse(line, fmt.Sprintf("the comment %q stands in the middle of what would change", language.Shorten(c.text)), "move the comment, or change the file by hand")
		}
	}
	*d = *next
	return nil
}

// byHand is the error for a text that would not say what it should after an edit.
func (d *Document) byHand(line int) error {
	return d.refuse(line, "this cannot be changed in place, as it is written", "change the file by hand")
}
