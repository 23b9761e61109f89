package compose

import (
	"fmt"
	"slices"
	"strings"

	yaml "go.yaml.in/yaml/v4"

	"tactus/shows/language"
)

// place is where a value is in a file: keys of mappings (string) and indexes of lists
// (int), from the outside in.
type place []any

// under returns a place further in.
func (p place) under(parts ...any) place { return append(slices.Clip(p), parts...) }

// nameUse is a place where a name is written.
type nameUse struct {
	at    place
	isKey bool // the name is the key at the end of at, else the value
	text  string
	line  int // from 1
}

// namespace is a kind of name that several files use.
type namespace int

const (
	lookNames namespace = iota
	effectNames
	targetNames // groups and fixtures
	universeNames
	characterNames
)

// anyKey in a pattern stands for every key of a mapping, or every item of a list.
const anyKey = "*"

// itsKeys ends a pattern whose names are the keys of a mapping.
const itsKeys = "keys"

// usesOfNames lists the patterns of places that have names of a kind, by the kind of
// file. A value may be one name or a list of names. What defines a name is not among them.
func usesOfNames(n namespace) map[language.Kind][][]string {
	moments := language.Moments()
	uses := map[language.Kind][][]string{}
	add := func(k language.Kind, patterns ...string) {
		for _, p := range patterns {
			uses[k] = append(uses[k], strings.Split(p, "."))
		}
	}
	switch n {
	case lookNames:
		add(language.LooksFile, "ladder.rungs.*.look")
		for _, m := range moments {
			add(language.LooksFile, "ladder."+m, "ladder."+m+".look")
		}
		add(language.SongFile, "sections.*.*.look", "cues.*.look", "after the end")
		add(language.SetFile, "walk-in", "walk-out", "talk", "pad")
	case effectNames:
		add(language.LooksFile, "looks.*.effects", "ladder.rungs.*.effects", "characters.*.effects")
		for _, m := range moments {
			add(language.LooksFile, "ladder."+m+".effects")
		}
		add(language.SongFile, "sections.*.*.effects", "cues.*.effects")
	case universeNames:
		add(language.RigFile, "fixtures.*.universe", "inputs.*.patched as")
	case characterNames:
		add(language.SongFile, "character")
	case targetNames:
		add(language.ShowFile, "daw.faders.keys")
		add(language.RigFile, "groups.*", "floors.keys", "inputs.*.faders.keys", "inputs.*.groups")
		add(language.RigFile, language.RigLists()...)
		add(language.LooksFile, "looks.*.set.keys", "effects.*.on", "ladder.begin.keys", "ladder.instrumental.keys")
		for _, m := range moments {
			add(language.LooksFile, "ladder."+m+".set.keys")
		}
		add(language.SongFile, "sections.*.*.set.keys", "cues.*.set.keys")
	}
	return uses
}

// usesIn returns the places of a file that have a name of a kind, in the order of the
// patterns.
func usesIn(root *yaml.Node, kind language.Kind, n namespace) (list []nameUse) {
	for _, pattern := range usesOfNames(n)[kind] {
		list = appendUses(list, root, nil, pattern)
	}
	return list
}

// appendUses adds the names at a pattern below a node.
func appendUses(list []nameUse, n *yaml.Node, at place, pattern []string) []nameUse {
	switch {
	case len(pattern) == 0 && n.Kind == yaml.ScalarNode:
		return append(list, nameUse{at: at, text: n.Value, line: n.Line})
	case len(pattern) == 0 && n.Kind == yaml.SequenceNode:
		for i, item := range n.Content {
			if item.Kind == yaml.ScalarNode {
				list = append(list, nameUse{at: at.under(i), text: item.Value, line: item.Line})
			}
		}
	case len(pattern) == 0:
	case n.Kind == yaml.SequenceNode && pattern[0] == anyKey:
		for i, item := range n.Content {
			list = appendUses(list, item, at.under(i), pattern[1:])
		}
	case n.Kind == yaml.MappingNode:
		for i := 0; i+1 < len(n.Content); i += 2 {
			key := n.Content[i].Value
			switch {
			case pattern[0] == itsKeys && len(pattern) == 1:
				list = append(list, nameUse{at: at.under(key), isKey: true, text: key, line: n.Content[i].Line})
			case pattern[0] == anyKey || pattern[0] == key:
				list = appendUses(list, n.Content[i+1], at.under(key), pattern[1:])
			}
		}
	}
	return list
}

// fileLine is a line of a file.
type fileLine struct {
	file string // path inside the show folder
	line int    // from 1
}

// uses lists where names of a kind are used that match.
func (f *files) uses(n namespace, match func(text string) bool) (list []fileLine) {
	for _, file := range f.names("") {
		root, err := f.tree(file)
		if err != nil {
			continue // nothing in it can be read
		}
		kind, _ := language.KindOf(file)
		for _, u := range usesIn(root, kind, n) {
			if match(u.text) {
				list = append(list, fileLine{file, u.line})
			}
		}
	}
	return list
}

// listUses names the first places of a list: "songs/lanterns.yaml:12, looks.yaml:40 and 3
// more".
func listUses(uses []fileLine) string {
	const most = 5
	var places []string
	for _, u := range uses[:min(most, len(uses))] {
		places = append(places, fmt.Sprintf("%s:%d", u.file, u.line))
	}
	list := strings.Join(places, ", ")
	if more := len(uses) - most; more > 0 {
		list += fmt.Sprintf(" and %d more", more)
	}
	return list
}

// usesOneOf matches the names that stand for one of the fixtures, or a head of one.
func usesOneOf(fixtures []string) func(text string) bool {
	return func(text string) bool {
		return slices.ContainsFunc(fixturesOf(withoutHead(text)), func(n string) bool { return slices.Contains(fixtures, n) })
	}
}
