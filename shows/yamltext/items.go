package yamltext

import (
	"slices"
	"strings"

	"tactus/shows/songtext"
)

// Insert adds an item with a value on one line to a list, as item i, 0 to Len. Before
// the first item it stands above the comments of that.
func (d *Document) Insert(p Path, i int, value string) error {
	l, err := d.need(p)
	if err != nil {
		return err
	}
	now, err := d.valueTree(value)
	if err != nil {
		return err
	}
	if !l.isList() || i < 0 || i > len(l.values) {
		return d.refuseAt(l, "an item cannot be put here", "a place in a list is wanted")
	}
	if !l.flow && len(now.keys) == 1 && strings.HasPrefix(value, "{") && strings.HasSuffix(value, "}") {
		value = value[1 : len(value)-1] // as people write it behind a dash
	}
	want := treeOf(d.root.node)
	t := want.at(p)
	t.values = slices.Insert(t.values, i, now)
	return d.take(l.node.Line, d.withItem(l, i, value), want, nil)
}

func (d *Document) withItem(l *extent, i int, value string) string {
	switch {
	case len(l.values) == 0:
		return d.src[:l.start] + "[" + value + "]" + d.src[l.end:]
	case l.flow && i == 0:
		return d.src[:l.values[0].start] + value + ", " + d.src[l.values[0].start:]
	case l.flow:
		return d.src[:l.values[i-1].end] + ", " + value + d.src[l.values[i-1].end:]
	}
	if i == 0 {
		at := d.lead(l.dashes[0])
		return d.src[:at] + strings.Repeat(" ", l.indent) + "- " + value + d.newline(d.lineEnd(at)) + d.src[at:]
	}
	return d.withLines(l.values[i-1].end, l.indent, []string{"- " + value})
}

// lead returns where the comment lines directly above a line begin; the line itself if it
// has none.
func (d *Document) lead(at int) int {
	at = d.lineStart(at)
	for at > 0 {
		above := d.lineStart(at - 1)
		if line := d.src[above:at]; strings.TrimSpace(line) == "" || !songtext.IsRemark(line) {
			break
		}
		at = above
	}
	return at
}

// Remove removes an item of a list with the comments on its lines. Comments above stay.
// The last item of a list in block style cannot be removed.
func (d *Document) Remove(p Path) error {
	l, i, err := d.item(p)
	if err != nil {
		return err
	}
	want := treeOf(d.root.node)
	t := want.at(p[:len(p)-1])
	t.values = slices.Delete(t.values, i, i+1)
	var from, to int
	var lost []string
	switch {
	case l.flow:
		from, to, lost = d.between(l, i)
	case len(l.values) == 1:
		return d.refuseAt(l, "the item is the only one of its list", "remove the list")
	default:
		from, to = d.wholeLines(l.dashes[i], l.values[i].end)
		lost = d.commentsIn(from, to)
	}
	return d.take(l.values[i].node.Line, d.src[:from]+d.src[to:], want, lost)
}

// Move moves an item of a list to another place among the items. In block style it takes
// the comment lines directly above it along; empty lines stay where they are.
func (d *Document) Move(p Path, to int) error {
	l, from, err := d.item(p)
	if err != nil {
		return err
	}
	if to < 0 || to >= len(l.values) {
		return d.refuseAt(l, "an item cannot be put here", "a place in the list is wanted")
	}
	want := treeOf(d.root.node)
	t := want.at(p[:len(p)-1])
	t.values = moved(t.values, from, to)
	parts := extentsOf(l)
	if !l.flow {
		for i := range parts {
			parts[i] = part{d.lead(l.dashes[i]), d.lineEnd(max(l.dashes[i], parts[i].end))}
		}
	}
	return d.take(l.values[from].node.Line, d.reordered(parts, moved(parts, from, to)), want, nil)
}

// reordered returns the file's text with other texts where parts of it are.
func (d *Document) reordered(places, texts []part) string {
	var b strings.Builder
	at := 0
	for i, place := range places {
		b.WriteString(d.src[at:place.start] + d.src[texts[i].start:texts[i].end])
		at = place.end
	}
	b.WriteString(d.src[at:])
	return b.String()
}

func moved[T any](list []T, from, to int) []T {
	list = slices.Clone(list)
	item := list[from]
	return slices.Insert(slices.Delete(list, from, from+1), to, item)
}
