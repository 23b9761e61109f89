package compose

import (
	"fmt"
	"slices"

	yaml "go.yaml.in/yaml/v4"

	"tactus/shows/language"
)

// set gives a key another value, adds the key where it is missing, with the mappings
// around it, or takes it away if the value is null. The keys around a missing key are
// looked up from the outside in; the first that is missing is added at the end of its
// mapping.
func (f *files) set(file string, at place, v Value) error {
	now, err := f.node(file, at)
	switch {
	case err != nil:
		return err
	case !v.given && now == nil:
		return nil
	case !v.given:
		return f.removeKey(file, at)
	case now != nil && v.equals(now):
		return nil
	case now != nil:
		return f.replace(file, at, v)
	}
	for len(at) > 1 {
		outer, err := f.node(file, at[:len(at)-1])
		if err != nil {
			return err
		}
		if outer != nil {
			if outer.Kind != yaml.MappingNode {
				return refuse(file, outer.Line, fmt.Sprintf("%v has no keys", at[:len(at)-1]), "correct it in the file")
			}
			break
		}
		key, _ := at[len(at)-1].(string)
		at, v = at[:len(at)-1], object(key, v)
	}
	key, isKey := at[len(at)-1].(string)
	if !isKey {
		return refuse(file, 0, fmt.Sprintf("there is no %v", at), "")
	}
	return f.add(file, at[:len(at)-1], key, v, "")
}

// equals reports whether a file has the value already, in quotes or without.
func (v Value) equals(n *yaml.Node) bool {
	switch {
	case v.isList:
		return n.Kind == yaml.SequenceNode && slices.EqualFunc(v.list, n.Content, Value.equals)
	case v.keys == nil:
		return n.Kind == yaml.ScalarNode && n.Value == v.text
	case n.Kind != yaml.MappingNode || len(n.Content) != 2*len(v.keys):
		return false
	}
	for i, key := range v.keys {
		if n.Content[2*i].Value != key || !v.values[i].equals(n.Content[2*i+1]) {
			return false
		}
	}
	return true
}

// setList gives a list of words other items. Items that stay keep their comments.
func (f *files) setList(file string, at place, words []string) error {
	n, err := f.node(file, at)
	if err != nil {
		return err
	}
	if n == nil || n.Kind != yaml.SequenceNode {
		return f.set(file, at, Texts(words))
	}
	now, err := f.texts(file, at)
	if err != nil {
		return err
	}
	for i := len(now) - 1; i >= 0 && len(now) > 1; i-- {
		if !slices.Contains(words, now[i]) || slices.Contains(now[:i], now[i]) {
			if err := f.removeItem(file, at.under(i)); err != nil {
				return err
			}
			now = slices.Delete(now, i, i+1)
		}
	}
	for i, w := range words {
		if i < len(now) && now[i] == w {
			continue
		}
		j := slices.Index(now, w)
		if j > i {
			if err := f.moveItem(file, at.under(j), i); err != nil {
				return err
			}
			now = slices.Insert(slices.Delete(now, j, j+1), i, w)
			continue
		}
		if err := f.insert(file, at, i, Text(w)); err != nil {
			return err
		}
		now = slices.Insert(now, i, w)
	}
	for i := len(now) - 1; i >= len(words); i-- {
		if err := f.removeItem(file, at.under(i)); err != nil {
			return err
		}
	}
	return nil
}

// rename renames the key at a place of a file, and names of a kind in all files: to returns
// what each is called afterwards. Drafted lines that nobody has changed stay drafted.
func (f *files) rename(n namespace, defined place, file, name string, to func(text string) (string, error)) error {
	for _, each := range f.names("") {
		root, err := f.tree(each)
		if err != nil {
			continue // it has no names that can be read; the loader says so
		}
		kind, _ := language.KindOf(each)
		uses := usesIn(root, kind, n)
		slices.SortStableFunc(uses, func(a, b nameUse) int { return len(b.at) - len(a.at) }) // inner ones first: keys on their way stay
		before := f.sources[each]
		for _, u := range uses {
			text, err := to(u.text)
			if err != nil {
				return refuse(each, u.line, err.Error(), "change it first")
			}
			switch {
			case text == u.text:
				continue
			case u.isKey:
				err = f.renameKey(each, u.at, text)
			default:
				err = f.replace(each, u.at, Text(text))
			}
			if err != nil {
				return err
			}
		}
		if len(uses) > 0 {
			f.put(each, sealedAgain(before, f.sources[each]))
		}
	}
	return f.renameKey(file, defined, name)
}
