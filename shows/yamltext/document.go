package yamltext

import (
	"fmt"
	"strings"

	yaml "go.yaml.in/yaml/v4"

	"tactus/shows/language"
	"tactus/shows/songtext"
)

// Path names a value: keys (string) and indexes from 0 (int), from the outside in.
type Path []any

// String returns the path for people: sections, item 4, chorus, energy.
func (p Path) String() string {
	parts := make([]string, len(p))
	for i, step := range p {
		if n, ok := step.(int); ok {
			parts[i] = fmt.Sprintf("item %d", n+1)
		} else {
			parts[i] = fmt.Sprint(step)
		}
	}
	return strings.Join(parts, ", ")
}

// byteOrderMark may stand before a file's text.
const byteOrderMark = "\ufeff"

// Document is a YAML file whose values can be changed in place. Errors of its methods are
// [language.Problems].
type Document struct {
	name string
	mark string // the byte order mark, if the file has one
	src  string // without it
	*finder
	root     *extent
	comments []comment
}

// Parse reads a file. Errors have its name. It fails if the text is not YAML, or cannot be
// edited in place.
func Parse(name string, src []byte) (*Document, error) {
	d := &Document{name: name, src: string(src)}
	if after, ok := strings.CutPrefix(d.src, byteOrderMark); ok {
		d.mark, d.src = byteOrderMark, after
	}
	if t := songtext.Read(src); t.Odd {
		return nil, d.refuse(0, "the file has line ends that YAML counts and editors do not show", "end lines with a line feed, with or without a carriage return")
	}
	if err := d.parse(); err != nil {
		return nil, err
	}
	return d, nil
}

func (d *Document) parse() error {
	var n yaml.Node
	if err := yaml.Unmarshal([]byte(d.src), &n); err != nil {
		return d.refuse(0, "not YAML: "+err.Error(), "")
	}
	d.finder = newFinder(d.src)
	if n.Kind != yaml.DocumentNode || len(n.Content) != 1 {
		return d.refuse(0, "the file is empty", "")
	}
	d.root = d.find(n.Content[0], 0, -1)
	if d.why != "" {
		return d.refuse(d.line, d.why+" cannot be edited here", "change the file by hand")
	}
	d.comments = nil
	d.collect(d.root, 0)
	return nil
}

// refuse returns the error of an edit; line counts from 1, 0 stands for the whole file.
func (d *Document) refuse(line int, what, allowed string) error {
	return language.Problems{{File: d.name, Line: line, Column: min(1, line), What: what, Allowed: allowed}}
}

// refuseAt returns the error of an edit at an extent.
func (d *Document) refuseAt(e *extent, what, allowed string) error {
	return language.Problems{{File: d.name, Line: e.node.Line, Column: e.node.Column, What: what, Allowed: allowed}}
}

// Root returns the file's outermost value, to be read. It is not changed by later edits,
// which read the file anew.
func (d *Document) Root() *yaml.Node { return d.root.node }

// Bytes returns the file as it is now.
func (d *Document) Bytes() []byte { return []byte(d.mark + d.src) }

// at returns the value of a path, or nil.
func (d *Document) at(p Path) *extent {
	e := d.root
	for _, step := range p {
		i := -1
		switch s := step.(type) {
		case string:
			i = e.index(s)
		case int:
			if e.isList() && s >= 0 && s < len(e.values) {
				i = s
			}
		}
		if i < 0 {
			return nil
		}
		e = e.values[i]
	}
	return e
}

// index returns the place of a key in a mapping, or -1.
func (e *extent) index(key string) int {
	if e.isMapping() {
		for i, k := range e.keys {
			if k.node.Value == key {
				return i
			}
		}
	}
	return -1
}

// need returns the value of a path, or an error.
func (d *Document) need(p Path) (*extent, error) {
	if e := d.at(p); e != nil {
		return e, nil
	}
	return nil, d.refuse(0, fmt.Sprintf("the file has no value %s", language.Shorten(p.String())), "")
}

// entry returns the mapping and the index that a path's last key has in it.
func (d *Document) entry(p Path) (m *extent, i int, err error) {
	if len(p) > 0 {
		if m = d.at(p[:len(p)-1]); m != nil {
			if key, ok := p[len(p)-1].(string); ok {
				if i = m.index(key); i >= 0 {
					return m, i, nil
				}
			}
		}
	}
	_, err = d.need(p)
	if err == nil {
		err = d.refuse(0, fmt.Sprintf("%s is not a key", p), "")
	}
	return nil, 0, err
}

// item returns the list and the index that a path ends with.
func (d *Document) item(p Path) (l *extent, i int, err error) {
	if _, err = d.need(p); err != nil {
		return nil, 0, err
	}
	if len(p) > 0 {
		if n, ok := p[len(p)-1].(int); ok {
			return d.at(p[:len(p)-1]), n, nil
		}
	}
	return nil, 0, d.refuse(0, fmt.Sprintf("%s is not an item of a list", p), "")
}
