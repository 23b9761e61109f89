package compose

import (
	"strings"

	yaml "go.yaml.in/yaml/v4"

	"tactus/shows/yamltext"
)

// document returns a file as a document that is edited in place.
func (f *files) document(name string) (*yamltext.Document, error) {
	src, err := f.source(name)
	if err != nil {
		return nil, err
	}
	if d := f.documents[name]; d.doc != nil && string(d.src) == string(src) {
		return d.doc, nil
	}
	doc, err := yamltext.Parse(name, src)
	if err != nil {
		return nil, err
	}
	f.documents[name] = document{src, doc}
	return doc, nil
}

// document is a file that is edited in place.
type document struct {
	src []byte // of doc
	doc *yamltext.Document
}

// inPlace makes an edit of a file in place.
func (f *files) inPlace(name string, edit func(d *yamltext.Document) error) error {
	d, err := f.document(name)
	if err != nil {
		return err
	}
	if err := edit(d); err != nil {
		return err
	}
	src := d.Bytes()
	f.put(name, src)
	f.documents[name] = document{src, d}
	return nil
}

// replace gives the value at a place, which is there, another text. A word keeps its
// quotes.
func (f *files) replace(file string, at place, v Value) error {
	n, err := f.node(file, at)
	if err != nil {
		return err
	}
	return f.inPlace(file, func(d *yamltext.Document) error {
		if n != nil && n.Kind == yaml.ScalarNode && v.quoted && (n.Style != 0 || strings.Contains(n.Value, ", ")) {
			return d.SetText(yamltext.Path(at), v.text)
		}
		return d.Set(yamltext.Path(at), v.String())
	})
}

// renameKey gives the key at the end of a place another name.
func (f *files) renameKey(file string, at place, to string) error {
	return f.inPlace(file, func(d *yamltext.Document) error { return d.RenameKey(yamltext.Path(at), to) })
}

// copyKey copies the entry at a place under another key, behind it.
func (f *files) copyKey(file string, at place, to string) error {
	return f.inPlace(file, func(d *yamltext.Document) error { return d.CopyKey(yamltext.Path(at), to) })
}

// removeKey removes the entry at a place, with the comments on its lines. It must not be
// the only one of its mapping.
func (f *files) removeKey(file string, at place) error {
	return f.inPlace(file, func(d *yamltext.Document) error { return d.RemoveKey(yamltext.Path(at)) })
}

// insert puts an item into the list at a place: before the item at an index, or at the
// end.
func (f *files) insert(file string, at place, index int, v Value) error {
	return f.inPlace(file, func(d *yamltext.Document) error { return d.Insert(yamltext.Path(at), index, v.String()) })
}

// removeItem removes the item at a place, with the comments on its lines. It must not be
// the only one of its list.
func (f *files) removeItem(file string, at place) error {
	return f.inPlace(file, func(d *yamltext.Document) error { return d.Remove(yamltext.Path(at)) })
}

// prune removes the key or the item at a place, if there is one, and what holds nothing
// else: the mapping or list around it, and so on outwards. Places with fewer than least
// parts stay.
func (f *files) prune(file string, at place, least int) error {
	if n, err := f.node(file, at); err != nil || n == nil {
		return err
	}
	for len(at) > least {
		around, err := f.node(file, at[:len(at)-1])
		if err != nil {
			return err
		}
		if isList := around.Kind == yaml.SequenceNode; isList && len(around.Content) > 1 || !isList && len(around.Content) > 2 {
			break // a mapping has a key and a value for each entry
		}
		at = at[:len(at)-1]
	}
	if _, isItem := at[len(at)-1].(int); isItem {
		return f.removeItem(file, at)
	}
	return f.removeKey(file, at)
}

// moveItem moves the item at a place to another index of its list. It takes along the
// comment lines directly above it.
func (f *files) moveItem(file string, at place, to int) error {
	return f.inPlace(file, func(d *yamltext.Document) error { return d.Move(yamltext.Path(at), to) })
}

// add adds a key to the mapping at a place, which has keys: behind one of them, or at the
// end. It is written as the key before it is: on one line, or with a line for each of its
// own keys.
func (f *files) add(file string, at place, key string, v Value, after string) error {
	keys, err := f.keys(file, at)
	if err != nil {
		return err
	}
	if after == "" && len(keys) > 0 {
		after = keys[len(keys)-1]
	}
	before, err := f.node(file, at.under(after))
	if err != nil {
		return err
	}
	return f.inPlace(file, func(d *yamltext.Document) error {
		if before == nil || before.Kind != yaml.MappingNode || before.Style&yaml.FlowStyle != 0 || len(v.keys) == 0 {
			return d.AddKey(yamltext.Path(at), key, v.String(), after)
		}
		return d.AddBlock(yamltext.Path(at), key, v.String(), v.lines(), after)
	})
}
