package language

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"

	yaml "go.yaml.in/yaml/v4"
)

// checker checks the nodes of one file against shapes.
type checker struct {
	file   string
	root   *yaml.Node
	faults *Faults
}

func (c *checker) fault(n *yaml.Node, path, what, allowed, nearest string) {
	c.faults.Add(Problem{File: c.file, Line: n.Line, Column: n.Column, Path: path, What: what, Allowed: allowed, Nearest: nearest})
}

// checkPlainYAML reports anchors, aliases and tags, which show files may not use. No alias is
// followed, so that a small file cannot expand into a large one.
func (c *checker) checkPlainYAML(n *yaml.Node) {
	const allowed = "write the value out"
	switch {
	case n.Kind == yaml.AliasNode:
		c.fault(n, "", "an alias (*"+Shorten(n.Value)+")", allowed, "")
		return
	case n.Anchor != "":
		c.fault(n, "", "an anchor (&"+Shorten(n.Anchor)+")", allowed, "")
	case n.Style&yaml.TaggedStyle != 0:
		c.fault(n, "", "a tag ("+Shorten(n.Tag)+")", allowed, "")
	}
	for _, inside := range n.Content {
		c.checkPlainYAML(inside)
	}
}

// check returns the checked value, or nil after reporting a problem.
func (c *checker) check(n *yaml.Node, s *shape, path string) *Value {
	switch s.form {
	case word:
		return c.word(n, s, path)
	case number:
		return c.number(n, s, path)
	case fraction:
		return c.fraction(n, s, path)
	case list:
		return c.list(n, s, path)
	case record:
		return c.record(n, s, path)
	case table:
		return c.table(n, s, path)
	}
	for _, f := range s.forms {
		if f.hasFormOf(n) {
			return c.check(n, f, path)
		}
	}
	c.reportWrongForm(n, s, path)
	return nil
}

// hasFormOf reports whether the node has the shape's form. It does not check what is inside.
func (s *shape) hasFormOf(n *yaml.Node) bool {
	switch s.form {
	case word:
		return n.Kind == yaml.ScalarNode && scalarOf(n) == textual
	case number, fraction:
		return n.Kind == yaml.ScalarNode && (scalarOf(n) == integer || scalarOf(n) == decimal)
	case list:
		return n.Kind == yaml.SequenceNode
	default:
		return n.Kind == yaml.MappingNode
	}
}

func (c *checker) newValue(n *yaml.Node, path string) *Value {
	return &Value{file: c.file, Line: n.Line, Column: n.Column, path: path, Text: n.Value}
}

// reportWrongForm reports a node that does not have its shape's form.
func (c *checker) reportWrongForm(n *yaml.Node, s *shape, path string) {
	want := "want " + s.Wants()
	switch n.Kind {
	case yaml.MappingNode:
		c.fault(n, path, "a mapping does not fit here", want, "")
		return
	case yaml.SequenceNode:
		c.fault(n, path, "a list does not fit here", want, "")
		return
	}
	text := Shorten(n.Value)
	switch kind := scalarOf(n); {
	case s.universe && kind == integer && c.explainUniverse(n, path):
	case kind == empty:
		if n.Value == "" {
			text = "nothing"
		}
		c.fault(n, path, text+" stands here (# starts a comment unless it is in quotes)", want, "")
	case s.unit && (kind == integer || kind == decimal):
		c.fault(n, path, text+" has no unit", want, "")
	case s.form == word && kind != textual && s.pattern != nil && s.Matches(n.Value):
		c.fault(n, path, fmt.Sprintf("%s needs quotes to be text: %q", text, text), want, "")
	default:
		c.fault(n, path, fmt.Sprintf("%q does not fit here", text), want, "")
	}
}

func (c *checker) word(n *yaml.Node, s *shape, path string) *Value {
	if !s.hasFormOf(n) {
		c.reportWrongForm(n, s, path)
		return nil
	}
	if !s.accepts(n.Value) {
		what, allowed := s.explainMismatch(n.Value)
		nearest := ""
		if strings.HasPrefix(allowed, "want ") {
			nearest = Nearest(n.Value, s.options)
		}
		c.fault(n, path, what, allowed, nearest)
		return nil
	}
	quoted := n.Style&isQuoted != 0
	if odd := hiddenIn(n.Value, quoted); odd != "" {
		c.fault(n, path, fmt.Sprintf("%q has %s", Shorten(n.Value), odd), "write "+asWritten(plainText(n.Value)), "")
		return nil
	}
	if !quoted && wronglyQuoted(n.Value) {
		c.fault(n, path, fmt.Sprintf("the quotes of %s are typographic, which YAML takes for letters", Shorten(n.Value)),
			"write "+strconv.Quote(plainText(n.Value))+", with straight quotes", "")
		return nil
	}
	v := c.newValue(n, path)
	if s.canonical != nil {
		v.Text = s.canonical(v.Text)
	}
	return v
}

// LeadingZero reports whether a number starts with a needless 0, such as 010.
func LeadingZero(text string) bool {
	text = strings.TrimLeft(text, "+-")
	return len(text) > 1 && text[0] == '0' && text[1] >= '0' && text[1] <= '9'
}

func (c *checker) number(n *yaml.Node, s *shape, path string) *Value {
	want := fmt.Sprintf("want %s, %d to %d", s.called, s.low, s.high)
	if !s.hasFormOf(n) {
		if n.Kind == yaml.ScalarNode && scalarOf(n) == textual {
			what, write := explainNoNumber(n, s.low, s.high)
			c.fault(n, path, what, write+want, "")
			return nil
		}
		c.reportWrongForm(n, &shape{form: word, called: want[5:]}, path)
		return nil
	}
	i, err := strconv.ParseInt(n.Value, 10, 64)
	switch {
	case LeadingZero(n.Value):
		c.fault(n, path, fmt.Sprintf("%s starts with a needless 0", Shorten(n.Value)), want, "")
	case scalarOf(n) == decimal || strings.ContainsAny(n.Value, "xo+"):
		c.fault(n, path, fmt.Sprintf("%s is not a plain whole number", Shorten(n.Value)), want, "")
	case err != nil || i < s.low || i > s.high:
		c.fault(n, path, fmt.Sprintf("%s is out of range", Shorten(n.Value)), want, "")
	default:
		v := c.newValue(n, path)
		v.Number = i
		return v
	}
	return nil
}

// plainFraction is how numbers with a fraction are written.
var plainFraction = regexp.MustCompile(`^-?[0-9]{1,6}(\.[0-9]{1,6})?$`)

func (c *checker) fraction(n *yaml.Node, s *shape, path string) *Value {
	want := fmt.Sprintf("want %s, %v to %v", s.called, s.lowest, s.top)
	if !s.hasFormOf(n) {
		if n.Kind == yaml.ScalarNode && scalarOf(n) == textual {
			c.fault(n, path, fmt.Sprintf("%q is not a number", Shorten(n.Value)), want, "")
			return nil
		}
		c.reportWrongForm(n, &shape{form: word, called: want[5:]}, path)
		return nil
	}
	f, err := strconv.ParseFloat(n.Value, 64)
	switch {
	case LeadingZero(n.Value):
		c.fault(n, path, fmt.Sprintf("%s starts with a needless 0", Shorten(n.Value)), want, "")
	case err != nil || !plainFraction.MatchString(n.Value):
		c.fault(n, path, fmt.Sprintf("%s is not a plain number such as 0.25", Shorten(n.Value)), want, "")
	case f < s.lowest || f > s.top:
		c.fault(n, path, fmt.Sprintf("%s is out of range", Shorten(n.Value)), want, "")
	default:
		return c.newValue(n, path)
	}
	return nil
}

func (c *checker) list(n *yaml.Node, s *shape, path string) *Value {
	if !s.hasFormOf(n) {
		c.reportWrongForm(n, s, path)
		return nil
	}
	if s.of.unit && c.explainSplitItems(n, path) {
		return nil
	}
	c.count(n, len(n.Content), s, path, "item")
	v := c.newValue(n, path)
	v.list = make([]*Value, 0, len(n.Content))
	seen := map[string]bool{}
	for i, item := range n.Content {
		at := fmt.Sprintf("%s[%d]", path, i)
		if s.unique && item.Kind == yaml.ScalarNode {
			if seen[item.Value] {
				c.fault(item, at, fmt.Sprintf("%q is in the list twice", Shorten(item.Value)), "", "")
				continue
			}
			seen[item.Value] = true
		}
		if got := c.check(item, s.of, at); got != nil {
			v.list = append(v.list, got)
		}
	}
	return v
}

func (c *checker) count(n *yaml.Node, have int, s *shape, path, thing string) {
	want := fmt.Sprintf("at least %d", s.least)
	if s.most > 0 {
		want = fmt.Sprintf("%d to %d", s.least, s.most)
		if s.most == s.least {
			want = fmt.Sprintf("%d", s.least)
		}
	}
	if have < s.least || s.most > 0 && have > s.most {
		c.fault(n, path, fmt.Sprintf("%d %ss", have, thing), "want "+want, "")
	}
}

// keys calls each for every entry of a mapping. It reports keys that are not scalars
// or come twice, and skips them.
func (c *checker) keys(n *yaml.Node, path string, each func(key, val *yaml.Node, at string)) {
	first := map[string]int{}
	for i := 0; i+1 < len(n.Content); i += 2 {
		key, val := n.Content[i], n.Content[i+1]
		if key.Kind != yaml.ScalarNode {
			c.fault(key, path, "a key has to be a name", "", "")
			continue
		}
		at := joinPath(path, key.Value)
		if line := first[key.Value]; line > 0 {
			c.fault(key, at, fmt.Sprintf("%q stands here a second time", Shorten(key.Value)),
				fmt.Sprintf("the first is on line %d", line), "")
			continue
		}
		first[key.Value] = key.Line
		each(key, val, at)
	}
}

func joinPath(path, key string) string {
	if path == "" {
		return Shorten(key)
	}
	return path + "." + Shorten(key)
}

func (c *checker) record(n *yaml.Node, s *shape, path string) *Value {
	if !s.hasFormOf(n) {
		c.reportWrongForm(n, s, path)
		return nil
	}
	v := c.newValue(n, path)
	words := map[string]*yaml.Node{}
	split := c.explainSplitValues(n, path, s)
	c.keys(n, path, func(key, val *yaml.Node, at string) {
		f := s.field(key.Value)
		if split[key] {
			return
		}
		if f == nil {
			f = c.explainKey(key, path, s)
		}
		if f == nil && lookalikesIn(key.Value) != "" {
			return
		}
		if f == nil {
			names := s.keyNames()
			if i := slices.IndexFunc(s.fields, func(f field) bool { return f.formerKey != "" && f.formerKey == key.Value }); i >= 0 {
				c.fault(key, path, fmt.Sprintf("%q is an old name of %q", key.Value, s.fields[i].key), fmt.Sprintf("write %q", s.fields[i].key+":"), "")
				return
			}
			c.fault(key, path, fmt.Sprintf("unknown key %q", Shorten(key.Value)), Listed("keys are", names), Nearest(key.Value, names))
			return
		}
		words[f.key] = val
		if split[val] {
			v.Entries = append(v.Entries, Entry{c.newValue(key, at), nil})
			return
		}
		v.Entries = append(v.Entries, Entry{c.newValue(key, at), c.check(val, f.shape, at)})
	})
	for _, f := range s.fields {
		if f.required && words[f.key] == nil {
			c.fault(n, path, fmt.Sprintf("%q is missing", f.key), "want "+f.shape.Wants(), "")
		}
	}
	for _, r := range s.rules {
		c.checkRule(n, r, words, path)
	}
	return v
}

func (c *checker) table(n *yaml.Node, s *shape, path string) *Value {
	if !s.hasFormOf(n) {
		c.reportWrongForm(n, s, path)
		return nil
	}
	c.count(n, len(n.Content)/2, s, path, "key")
	v := c.newValue(n, path)
	c.keys(n, path, func(key, val *yaml.Node, at string) {
		if !s.keys.Matches(key.Value) {
			what := fmt.Sprintf("%q cannot be a name", Shorten(key.Value))
			if odd := lookalikesIn(key.Value); odd != "" {
				what = fmt.Sprintf("the name %q has %s", Shorten(key.Value), odd)
			}
			c.fault(key, path, what, "want "+s.keys.called, "")
		}
		v.Entries = append(v.Entries, Entry{c.newValue(key, at), c.check(val, s.of, at)})
	})
	return v
}
