package compose

import (
	"slices"
	"strings"

	yaml "go.yaml.in/yaml/v4"
)

// replace gives the value at a place, which is there, another text. A word keeps its
// quotes.
func (f *files) replace(file string, at place, v Value) error {
	l, err := f.layout(file)
	if err != nil {
		return err
	}
	n, err := f.node(file, at)
	if err != nil || n == nil {
		return orMissing(err, file, at)
	}
	end, err := l.end(n)
	if err != nil {
		return err
	}
	c := cut{from: l.start(n), to: end, text: v.String()}
	switch {
	case n.Kind == yaml.ScalarNode && v.isScalar():
		c.text = quotedLike(n, v)
		if c.from == c.to { // nothing stands behind the colon
			c.text = " " + c.text
		}
	case n.Kind != yaml.ScalarNode && n.Style&yaml.FlowStyle == 0:
		key, err := f.keyNode(file, at)
		if err != nil {
			return err
		}
		if c.from, err = l.end(key); err != nil {
			return err
		}
		c.text = ": " + c.text
	}
	return f.splice(l, func(root *Value) bool {
		old := root.at(at)
		if old == nil {
			return false
		}
		*old = v
		return true
	}, c)
}

func orMissing(err error, file string, at place) error {
	if err != nil {
		return err
	}
	return missing(file, at)
}

// keyNode returns the node of the key at the end of a place.
func (f *files) keyNode(file string, at place) (*yaml.Node, error) {
	if len(at) == 0 {
		return nil, missing(file, at)
	}
	m, err := f.node(file, at[:len(at)-1])
	if err != nil || m == nil {
		return nil, orMissing(err, file, at)
	}
	for i := 0; m.Kind == yaml.MappingNode && i+1 < len(m.Content); i += 2 {
		if m.Content[i].Value == at[len(at)-1] {
			return m.Content[i], nil
		}
	}
	return nil, missing(file, at)
}

// renameKey gives the key at the end of a place another name.
func (f *files) renameKey(file string, at place, to string) error {
	l, err := f.layout(file)
	if err != nil {
		return err
	}
	key, err := f.keyNode(file, at)
	if err != nil {
		return err
	}
	end, err := l.end(key)
	if err != nil {
		return err
	}
	return f.splice(l, func(root *Value) bool {
		m := root.at(at[:len(at)-1])
		if m == nil {
			return false
		}
		i := slices.Index(m.keys, key.Value)
		m.keys[i] = to
		return true
	}, cut{from: l.start(key), to: end, text: quotedLike(key, Text(to))})
}

// add adds a key to the mapping at a place, which has keys: behind one of them, or at the
// end. It is written as the key before it is.
func (f *files) add(file string, at place, key string, v Value, after string) error {
	l, err := f.layout(file)
	if err != nil {
		return err
	}
	m, err := f.node(file, at)
	if err != nil || m == nil || m.Kind != yaml.MappingNode {
		return orMissing(err, file, at)
	}
	i := len(m.Content) - 2
	for k := 0; after != "" && k < len(m.Content); k += 2 {
		if m.Content[k].Value == after {
			i = k
		}
	}
	change := func(root *Value) bool {
		into := root.at(at)
		if into == nil {
			return false
		}
		into.keys, into.values = slices.Insert(into.keys, i/2+1, key), slices.Insert(into.values, i/2+1, v)
		return true
	}
	if i < 0 {
		pos := l.start(m) + 1
		return f.splice(l, change, cut{from: pos, to: pos, text: keyText(key) + ": " + v.String()})
	}
	sibling := m.Content[i+1]
	end, err := l.end(sibling)
	if err != nil {
		return err
	}
	if m.Style&yaml.FlowStyle != 0 {
		return f.splice(l, change, cut{from: end, to: end, text: ", " + keyText(key) + ": " + v.String()})
	}
	isBlock := sibling.Kind == yaml.MappingNode && sibling.Style&yaml.FlowStyle == 0
	lines := entryLines(key, v, m.Content[i].Column-1, isBlock)
	return f.splice(l, change, l.linesAfter(end, lines))
}

// entryLines writes a key with its value in lines of their own; isBlock writes an object
// with a line for each key.
func entryLines(key string, v Value, indent int, isBlock bool) []string {
	in := strings.Repeat(" ", indent)
	if !isBlock || len(v.keys) == 0 {
		return []string{in + keyText(key) + ": " + v.String()}
	}
	lines := []string{in + keyText(key) + ":"}
	for i, k := range v.keys {
		inside := v.values[i]
		hasObjects := len(inside.keys) > 0 && !slices.ContainsFunc(inside.values, func(v Value) bool { return len(v.keys) == 0 })
		lines = append(lines, entryLines(k, inside, indent+2, hasObjects)...)
	}
	return lines
}

// linesAfter returns the cut that puts lines below the line of an octet.
func (l *layout) linesAfter(at int, lines []string) cut {
	at = l.lineEnd(at)
	if at == len(l.src) { // the last line has no end
		return cut{from: at, to: at, text: l.cr + "\n" + strings.Join(lines, l.cr+"\n")}
	}
	return cut{from: at + 1, to: at + 1, text: strings.Join(lines, l.cr+"\n") + l.cr + "\n"}
}

// copyKey copies the entry at a place under another key, behind it.
func (f *files) copyKey(file string, at place, to string) error {
	n, err := f.node(file, at)
	if err != nil || n == nil {
		return orMissing(err, file, at)
	}
	name, _ := at[len(at)-1].(string)
	return f.add(file, at[:len(at)-1], to, valueOf(n), name)
}

// removeKey removes the entry at a place, with the comments on its lines. It must not be
// the only one of its mapping.
func (f *files) removeKey(file string, at place) error {
	l, err := f.layout(file)
	if err != nil {
		return err
	}
	key, err := f.keyNode(file, at)
	if err != nil {
		return err
	}
	m, _ := f.node(file, at[:len(at)-1])
	i := slices.Index(m.Content, key)
	end, err := l.end(m.Content[i+1])
	if err != nil {
		return err
	}
	if len(m.Content) == 2 {
		return refuse(file, key.Line, "nothing would be left here", "remove what is around it")
	}
	c := cut{from: l.start(key), to: end, drops: true}
	isFlow := m.Style&yaml.FlowStyle != 0
	ownLine := strings.TrimSpace(string(l.src[l.lineStart(c.from):c.from])) == ""
	switch {
	case isFlow && i > 0:
		if c.from, err = l.end(m.Content[i-1]); err != nil {
			return err
		}
	case isFlow || !ownLine && i+2 < len(m.Content):
		c.to = l.start(m.Content[i+2])
	case ownLine:
		c = l.wholeLines(c.from, end)
	default:
		return refuse(file, key.Line, "this cannot be removed here", "remove it with an editor")
	}
	return f.splice(l, func(root *Value) bool {
		from := root.at(at[:len(at)-1])
		if from == nil {
			return false
		}
		from.keys, from.values = slices.Delete(from.keys, i/2, i/2+1), slices.Delete(from.values, i/2, i/2+1)
		return true
	}, c)
}

// wholeLines returns the cut that removes the lines from one octet to another.
func (l *layout) wholeLines(from, to int) cut {
	c := cut{from: l.lineStart(from), to: l.lineEnd(to) + 1, drops: true}
	if c.to > len(l.src) { // the last line has no end: that before it loses its own
		c.to = len(l.src)
		c.from = max(0, c.from-1-len(l.cr))
	}
	return c
}

// at returns the value at a place, or nil.
func (v *Value) at(p place) *Value {
	for _, part := range p {
		switch part := part.(type) {
		case string:
			i := slices.Index(v.keys, part)
			if i < 0 {
				return nil
			}
			v = &v.values[i]
		case int:
			if part < 0 || part >= len(v.list) {
				return nil
			}
			v = &v.list[part]
		}
	}
	return v
}
