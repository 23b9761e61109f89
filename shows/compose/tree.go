package compose

import (
	"fmt"
	"slices"
	"strings"

	yaml "go.yaml.in/yaml/v4"

	"tactus/shows/language"
)

// tree is the YAML of a file that cannot be edited in place, read to find names in it.
type tree struct {
	src  []byte
	root *yaml.Node
}

// tree returns the root of a file's YAML.
func (f *files) tree(name string) (*yaml.Node, error) {
	src, err := f.source(name)
	if err != nil {
		return nil, err
	}
	if t := f.trees[name]; t.root != nil && string(t.src) == string(src) {
		return t.root, nil
	}
	if d, err := f.document(name); err == nil {
		return d.Root(), nil
	}
	var doc yaml.Node
	if err := yaml.Unmarshal(src, &doc); err != nil || len(doc.Content) != 1 {
		if _, problems := language.Parse(name, src); len(problems) > 0 {
			return nil, problems
		}
		return nil, refuse(name, 0, "the file cannot be read as YAML", "")
	}
	f.trees[name] = tree{src, doc.Content[0]}
	return doc.Content[0], nil
}

// node returns the value at a place, or nil if there is none.
func (f *files) node(name string, at place) (*yaml.Node, error) {
	n, err := f.tree(name)
	if err != nil {
		return nil, err
	}
	for _, part := range at {
		if n = inside(n, part); n == nil {
			return nil, nil
		}
	}
	return n, nil
}

// inside returns the value of a key or the item at an index, or nil.
func inside(n *yaml.Node, part any) *yaml.Node {
	switch part := part.(type) {
	case int:
		if n.Kind == yaml.SequenceNode && part >= 0 && part < len(n.Content) {
			return n.Content[part]
		}
	case string:
		for i := 0; n.Kind == yaml.MappingNode && i+1 < len(n.Content); i += 2 {
			if n.Content[i].Value == part {
				return n.Content[i+1]
			}
		}
	}
	return nil
}

// keys lists the keys of the mapping at a place, in order; none if there is none.
func (f *files) keys(name string, at place) (list []string, err error) {
	n, err := f.node(name, at)
	if err != nil || n == nil || n.Kind != yaml.MappingNode {
		return nil, err
	}
	for i := 0; i+1 < len(n.Content); i += 2 {
		list = append(list, n.Content[i].Value)
	}
	return list, nil
}

// texts lists the words of the list at a place, or the single word that stands there
// instead; none if there is nothing.
func (f *files) texts(name string, at place) (list []string, err error) {
	n, err := f.node(name, at)
	switch {
	case err != nil || n == nil:
		return nil, err
	case n.Kind == yaml.ScalarNode:
		return []string{n.Value}, nil
	case n.Kind != yaml.SequenceNode:
		return nil, refuse(name, n.Line, "there is no list of names here", "")
	}
	for _, item := range n.Content {
		list = append(list, item.Value)
	}
	return list, nil
}

// count returns the number of items of the list at a place; 0 if there is none.
func (f *files) count(name string, at place) (int, error) {
	n, err := f.node(name, at)
	if err != nil || n == nil || n.Kind != yaml.SequenceNode {
		return 0, err
	}
	return len(n.Content), nil
}

// needKey returns an error unless the mapping at a place has a key. what says what its
// keys name, such as "look".
func (f *files) needKey(file string, mapping place, what, key string) error {
	names, err := f.keys(file, mapping)
	if err != nil || slices.Contains(names, key) {
		return err
	}
	return unknownName(file, what, what+"s", key, names)
}

// needNewFile returns an error unless a file can be added under a name.
func (f *files) needNewFile(name string, kind language.Kind) error {
	if k, ok := language.KindOf(name); !ok || k != kind {
		return refuse(language.Shorten(name), 0, fmt.Sprintf("no %s can have this file name", kind), "want "+kind.Where())
	}
	if _, there := f.sources[name]; there {
		return refuse(name, 0, "the file exists already", "choose another name")
	}
	stem := strings.TrimSuffix(name[strings.LastIndexByte(name, '/')+1:], ".yaml")
	if !plainFileName(stem) {
		return refuse(language.Shorten(name), 0, "this cannot be the name of a file", "letters, digits, spaces, - and _, 64 at most")
	}
	return nil
}

// plainFileName reports whether a name is one that every system takes for a file.
func plainFileName(stem string) bool {
	const most = 64
	if stem == "" || len(stem) > most || strings.TrimSpace(stem) != stem {
		return false
	}
	return !strings.ContainsFunc(stem, func(r rune) bool {
		return r < ' ' || strings.ContainsRune(`<>:"/\|?*.`, r)
	})
}

// String names a place for messages: looks.tide.set.
func (p place) String() string {
	var b strings.Builder
	for _, part := range p {
		switch part := part.(type) {
		case int:
			fmt.Fprintf(&b, "[%d]", part)
		case string:
			if b.Len() > 0 {
				b.WriteByte('.')
			}
			b.WriteString(language.Shorten(part))
		}
	}
	return b.String()
}
