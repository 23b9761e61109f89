package language

import (
	"fmt"
	"slices"
	"strings"

	yaml "go.yaml.in/yaml/v4"
)

func (w when) holds(keys map[string]*yaml.Node) bool {
	if w.key == "" {
		return true
	}
	n := keys[w.key]
	if n == nil {
		return false
	}
	if w.is == nil && w.not == nil {
		return true
	}
	if n.Kind != yaml.ScalarNode || scalarOf(n) != textual {
		return false // the check of the value reports it
	}
	return (w.is == nil || slices.Contains(w.is, n.Value)) && !slices.Contains(w.not, n.Value)
}

func (w when) String() string {
	switch {
	case w.key == "":
		return ""
	case w.is != nil:
		return fmt.Sprintf(" with %s: %s", w.key, strings.Join(w.is, " or "))
	case w.not != nil:
		return fmt.Sprintf(" unless %s: %s", w.key, strings.Join(w.not, " or "))
	}
	return fmt.Sprintf(" with %q", w.key)
}

func (c *checker) checkRule(n *yaml.Node, r rule, keys map[string]*yaml.Node, path string) {
	if !r.when.holds(keys) {
		return
	}
	if r.when.key != "" {
		n = keys[r.when.key]
		path = joinPath(path, r.when.key)
	}
	have := func(names []string) (n int) {
		for _, k := range names {
			if keys[k] != nil {
				n++
			}
		}
		return n
	}
	for _, k := range r.need {
		if keys[k] == nil {
			c.fault(n, path, fmt.Sprintf("%q is missing%s", k, r.when), "", "")
		}
	}
	if r.any != nil && have(r.any) == 0 {
		c.fault(n, path, fmt.Sprintf("nothing of %s%s", strings.Join(r.any, ", "), r.when), "want at least one", "")
	}
	if n := n; r.one != nil && have(r.one) != 1 {
		c.fault(n, path, fmt.Sprintf("%d of %s%s", have(r.one), strings.Join(r.one, ", "), r.when), "want exactly one", "")
	}
	for _, k := range r.ban {
		if keys[k] != nil {
			c.fault(keys[k], path, fmt.Sprintf("%q means nothing%s", k, r.when), "", "")
		}
	}
}
