package compose

import (
	"bytes"
	"slices"
	"strings"

	yaml "go.yaml.in/yaml/v4"
)

// listAt returns the list at a place, and where its items stand.
func (f *files) listAt(file string, at place) (*layout, *yaml.Node, error) {
	l, err := f.layout(file)
	if err != nil {
		return nil, nil, err
	}
	n, err := f.node(file, at)
	if err != nil || n == nil || n.Kind != yaml.SequenceNode {
		return nil, nil, orMissing(err, file, at)
	}
	return l, n, nil
}

// insert puts an item into the list at a place: before the item at an index, or at the
// end.
func (f *files) insert(file string, at place, index int, v Value) error {
	l, n, err := f.listAt(file, at)
	if err != nil {
		return err
	}
	change := func(root *Value) bool {
		list := root.at(at)
		if list == nil || index < 0 || index > len(list.list) {
			return false
		}
		list.list = slices.Insert(list.list, index, v)
		return true
	}
	c := cut{text: v.String()}
	switch isFlow := n.Style&yaml.FlowStyle != 0; {
	case isFlow && len(n.Content) == 0:
		c.from = l.start(n) + 1
	case isFlow && index == 0:
		c.from, c.text = l.start(n.Content[0]), c.text+", "
	case isFlow:
		if c.from, err = l.end(n.Content[index-1]); err != nil {
			return err
		}
		c.text = ", " + c.text
	default:
		return f.insertLine(l, n, index, c.text, change)
	}
	c.to = c.from
	return f.splice(l, change, c)
}

// insertLine puts an item into a list that has a line for each item, or more.
func (f *files) insertLine(l *layout, n *yaml.Node, index int, text string, change func(*Value) bool) error {
	beside := n.Content[max(0, index-1)]
	from, to, err := l.linesOfItem(beside)
	if err != nil {
		return err
	}
	line := string(l.src[from:bytes.IndexByte(l.src[from:], '-')+from]) + "- " + text
	if index > 0 {
		return f.splice(l, change, l.linesAfter(to, []string{line}))
	}
	return f.splice(l, change, cut{from: from, to: from, text: line + l.cr + "\n"})
}

// linesOfItem returns the octets where the first line of an item begins, and where the
// item ends. The error is for an item that shares its first line with another list.
func (l *layout) linesOfItem(item *yaml.Node) (from, to int, err error) {
	start := l.start(item)
	from = l.lineStart(start)
	if before := strings.TrimRight(string(l.src[from:start]), " "); strings.TrimLeft(before, " ") != "-" {
		return 0, 0, refuse(l.name, item.Line, "the item does not begin a line of its own behind a -", "write it so")
	}
	to, err = l.end(item)
	return from, to, err
}

// removeItem removes the item at a place, with the comments on its lines. It must not be
// the only one of its list.
func (f *files) removeItem(file string, at place) error {
	l, n, err := f.listAt(file, at[:len(at)-1])
	if err != nil {
		return err
	}
	index, _ := at[len(at)-1].(int)
	if index < 0 || index >= len(n.Content) {
		return missing(file, at)
	}
	item := n.Content[index]
	if len(n.Content) == 1 {
		return refuse(file, item.Line, "nothing would be left in the list", "remove the list")
	}
	end, err := l.end(item)
	if err != nil {
		return err
	}
	c := cut{from: l.start(item), to: end, drops: true}
	switch isFlow := n.Style&yaml.FlowStyle != 0; {
	case isFlow && index > 0:
		if c.from, err = l.end(n.Content[index-1]); err != nil {
			return err
		}
	case isFlow:
		c.to = l.start(n.Content[1])
	default:
		if c.from, _, err = l.linesOfItem(item); err != nil {
			return err
		}
		c = l.wholeLines(c.from, end)
	}
	return f.splice(l, func(root *Value) bool {
		list := root.at(at[:len(at)-1])
		if list == nil {
			return false
		}
		list.list = slices.Delete(list.list, index, index+1)
		return true
	}, c)
}

// moveItem moves the item at a place to another index of its list. It takes along the
// comment lines directly above it.
func (f *files) moveItem(file string, at place, to int) error {
	l, n, err := f.listAt(file, at[:len(at)-1])
	if err != nil {
		return err
	}
	from, _ := at[len(at)-1].(int)
	if min(from, to) < 0 || max(from, to) >= len(n.Content) {
		return missing(file, at)
	}
	var parts []cut // where each item stands, and its text
	for _, item := range n.Content {
		c := cut{from: l.start(item)}
		if c.to, err = l.end(item); err != nil {
			return err
		}
		if n.Style&yaml.FlowStyle == 0 {
			if c.from, c.to, err = l.linesOfItem(item); err != nil {
				return err
			}
			c.from, c.to = l.aboveWithComments(c.from), l.lineEnd(c.to)
		}
		c.text = string(l.src[c.from:c.to])
		parts = append(parts, c)
	}
	texts := make([]string, len(parts))
	for i, p := range parts {
		texts[i] = strings.TrimSuffix(p.text, l.cr)
	}
	moved := texts[from]
	texts = slices.Insert(slices.Delete(texts, from, from+1), to, moved)
	for i := range parts {
		if strings.HasSuffix(parts[i].text, "\r") {
			texts[i] += "\r"
		}
		parts[i].text = texts[i]
	}
	return f.splice(l, func(root *Value) bool {
		list := root.at(at[:len(at)-1])
		if list == nil {
			return false
		}
		moved := list.list[from]
		list.list = slices.Insert(slices.Delete(list.list, from, from+1), to, moved)
		return true
	}, parts...)
}

// aboveWithComments returns where the comment lines directly above a line begin.
func (l *layout) aboveWithComments(at int) int {
	for at > 0 {
		above := l.lineStart(at - 1)
		if !bytes.HasPrefix(bytes.TrimLeft(l.src[above:at], " \t"), []byte("#")) {
			break
		}
		at = above
	}
	return at
}
