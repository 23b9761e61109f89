package language

import (
	"fmt"

	yaml "go.yaml.in/yaml/v4"
)

// explainKey reports a key of a record that does not exist because of a lookalike in it.
// It returns the field that is meant, or nil.
func (c *checker) explainKey(key *yaml.Node, path string, s *shape) *field {
	odd := lookalikesIn(key.Value)
	if odd == "" {
		return nil
	}
	meant, allowed := s.field(plainText(key.Value)), Listed("keys are", s.keyNames())
	if meant != nil {
		allowed = "write " + meant.key + ":"
	}
	c.fault(key, path, fmt.Sprintf("the key %q has %s", Shorten(key.Value), odd), allowed, "")
	return meant
}

// explainSplitValues reports values of a record inside braces that a decimal comma has
// cut in two, such as {tempo: 76,5 bpm}. It returns the nodes of their parts.
func (c *checker) explainSplitValues(n *yaml.Node, path string, s *shape) map[*yaml.Node]bool {
	var parts map[*yaml.Node]bool
	for i := 2; i+1 < len(n.Content); i += 2 {
		before, key, value := n.Content[i-1], n.Content[i], n.Content[i+1]
		whole, write, ok := splitByComma(before, key)
		if !ok || s.field(key.Value) != nil || value.Kind != yaml.ScalarNode || value.Value != "" {
			continue
		}
		c.fault(before, joinPath(path, n.Content[i-2].Value), fmt.Sprintf("%q has a decimal comma, which begins the next key inside braces", Shorten(whole)),
			"write "+Shorten(write), "")
		if parts == nil {
			parts = map[*yaml.Node]bool{}
		}
		parts[before], parts[key] = true, true
	}
	return parts
}

// explainSplitItems reports items of a list in brackets that a decimal comma has cut in
// two, such as [1,5 m, 2 m, 3 m]. It returns whether there are any.
func (c *checker) explainSplitItems(n *yaml.Node, path string) bool {
	found := false
	for i := 1; i < len(n.Content); i++ {
		if whole, write, ok := splitByComma(n.Content[i-1], n.Content[i]); ok {
			c.fault(n.Content[i-1], path, fmt.Sprintf("%q has a decimal comma, which begins the next item inside brackets", Shorten(whole)),
				"write "+Shorten(write), "")
			found = true
		}
	}
	return found
}

// explainUniverse reports a number where the name of a universe belongs, with the names
// and numbers of the rig's universes. It returns whether there are any, none of them by
// that name.
func (c *checker) explainUniverse(n *yaml.Node, path string) bool {
	var names []string
	write := ""
	for _, u := range universesOf(c.root) {
		if u.name == n.Value {
			return false
		}
		names = append(names, u.name+" ("+u.String()+")")
		if u.number == n.Value && write == "" {
			write = "write universe: " + asWritten(u.name) + "; "
		}
	}
	if len(names) == 0 {
		return false
	}
	c.fault(n, path, Shorten(n.Value)+" is a number, and a universe goes by its name", write+Listed("universes are", names), "")
	return true
}
