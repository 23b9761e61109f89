package merge

import (
	"fmt"
	"strings"

	yaml "go.yaml.in/yaml/v4"

	"tactus/shows/songtext"
)

// list is a list of a song's file, an item a dash.
type list struct {
	head  int // line of its key, from 0; -1: the file has no such list
	items []item
	end   int // line after the last item
	dash  int // column of the dashes, from 0
}

// item is an item of a list with the comments above it.
type item struct {
	node           *yaml.Node
	lead, from, to int // first line with its comments, line of its dash, line after it
}

// entryOf returns a value of a record by its key, and the key; nil: there is none.
func entryOf(record *yaml.Node, name string) (key, value *yaml.Node) {
	for i := 0; i+1 < len(record.Content); i += 2 {
		if record.Content[i].Value == name {
			return record.Content[i], record.Content[i+1]
		}
	}
	return nil, nil
}

// listOf finds a list. Its items must stand one a line, each after a dash.
func (e *editor) listOf(root *yaml.Node, name string) (list, error) {
	key, value := entryOf(root, name)
	if key == nil {
		return list{head: -1, dash: 2}, nil
	}
	l := list{head: key.Line - 1, end: e.endOf(root, key)}
	if value.Kind != yaml.SequenceNode || value.Style&yaml.FlowStyle != 0 {
		return l, e.byHand(l.head, fmt.Sprintf("the %s do not stand one a line; write each on a line of its own, starting with a dash", name))
	}
	for _, n := range value.Content {
		it := item{node: n, from: n.Line - 1}
		for it.from > l.head+1 && !strings.HasPrefix(strings.TrimLeft(e.Lines[it.from], " "), "-") {
			it.from-- // the dash has a line of its own
		}
		l.dash = len(indent(e.Lines[it.from]))
		it.lead = it.from
		if k := len(l.items); k > 0 {
			for it.lead-1 > l.items[k-1].from && songtext.IsRemark(e.Lines[it.lead-1]) {
				it.lead--
			}
			l.items[k-1].to = it.lead
		}
		l.items = append(l.items, it)
	}
	if k := len(l.items); k > 0 {
		l.items[k-1].to = l.end
	}
	return l, nil
}

// endOf returns the line after a top-level value, without the comments and empty lines
// below it.
func (e *editor) endOf(root, key *yaml.Node) int {
	end := len(e.Lines)
	for i := 0; i+1 < len(root.Content); i += 2 {
		if line := root.Content[i].Line - 1; line > key.Line-1 {
			end = min(end, line)
		}
	}
	for end > key.Line && songtext.IsRemark(e.Lines[end-1]) {
		end--
	}
	return end
}

// closeIfEmpty makes a comment of a list's key when no item is left.
func (e *editor) closeIfEmpty(l *list) {
	for _, it := range l.items {
		if !e.drop[it.from] && !e.commented[it.from] {
			return
		}
	}
	if l.head < 0 || len(l.items) == 0 {
		return
	}
	if songtext.Untouched(strings.TrimSuffix(e.Lines[l.head], "\r"), "") {
		e.drop[l.head] = true
		return
	}
	e.commented[l.head] = true
}
