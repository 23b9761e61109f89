package language

import (
	"regexp"
	"strings"
	"unicode/utf8"
)

// form is what a shape is made of.
type form uint8

const (
	word   form = iota // text that matches a pattern, or one of a few words
	number             // a whole number
	list
	record // a mapping whose keys are known
	table  // a mapping whose keys are names
	either // one of several shapes that YAML tells apart
)

// shape says what may stand at one place of a file. It is data: check holds
// values against it and Schema prints it.
type shape struct {
	form     form
	called   string // what a message calls it: "a length, such as 2 bars or 1/2 beat"
	about    string // one sentence for editors
	examples []any

	pattern *regexp.Regexp // word
	options []string       // word: all that it may be
	longest int            // word: letters at most, or 0
	unit    bool           // word: a number with its unit

	low, high int64 // number

	of          *shape // list and table: what is inside
	least, most int    // list and table: how many; most 0 is no limit
	unique      bool   // list: no item twice

	fields []field // record
	rules  []rule  // record
	keys   *shape  // table: what a name looks like
	forms  []*shape
}

// field is a key of a record.
type field struct {
	key   string
	need  bool
	about string
	shape *shape
	once  string // the key's name in older files, or ""
}

// rule ties the keys of a record together. When is the condition; the zero When
// always holds.
type rule struct {
	when when
	need []string // all of these must be there
	any  []string // at least one of these
	one  []string // exactly one of these
	ban  []string // none of these
}

// when holds if the record has key and, if is or not are given, its text is one
// of is and none of not.
type when struct {
	key string
	is  []string
	not []string
}

// The makers of shapes.

func need(key string, s *shape, about string) field {
	return field{key: key, need: true, about: about, shape: s}
}

func may(key string, s *shape, about string) field {
	return field{key: key, about: about, shape: s}
}

// renamed is a key that had another name in older files.
func renamed(once string, f field) field {
	f.once = once
	return f
}

func whole(low, high int64, called string, examples ...any) *shape {
	return &shape{form: number, low: low, high: high, called: called, examples: examples}
}

func matching(pattern, called string, examples ...any) *shape {
	return &shape{form: word, pattern: regexp.MustCompile(`^(?:` + pattern + `)$`), called: called, examples: examples}
}

func (s *shape) upTo(letters int) *shape {
	s.longest = letters
	return s
}

// Matches reports whether a text is what the word may be.
func (s *shape) Matches(text string) bool {
	return s.pattern.MatchString(text) && (s.longest == 0 || utf8.RuneCountInString(text) <= s.longest)
}

func measured(pattern, called string, examples ...any) *shape {
	s := matching(pattern, called, examples...)
	s.unit = true
	return s
}

func option(options ...string) *shape {
	return &shape{form: word, options: options, called: "one of: " + strings.Join(options, ", ")}
}

func listOf(of *shape, least, most int) *shape {
	return &shape{form: list, of: of, least: least, most: most}
}

func recordOf(fields []field, rules ...rule) *shape {
	return &shape{form: record, fields: fields, rules: rules}
}

func tableOf(keys, of *shape, least, most int) *shape {
	return &shape{form: table, keys: keys, of: of, least: least, most: most}
}

func oneOf(forms ...*shape) *shape { return &shape{form: either, forms: forms} }

// oneOrMore is a shape or a list of it, for keys that mostly hold one.
func oneOrMore(of *shape) *shape {
	several := listOf(of, 1, 0)
	several.unique = true
	return oneOf(of, several)
}

// Wants says in words what may stand there.
func (s *shape) Wants() string {
	if s.called != "" {
		return s.called
	}
	switch s.form {
	case list:
		return "a list"
	case record:
		return "a mapping with " + strings.Join(s.keyNames(), ", ")
	case table:
		return "a mapping by name"
	case either:
		parts := make([]string, len(s.forms))
		for i, f := range s.forms {
			parts[i] = f.Wants()
		}
		return strings.Join(parts, ", or ")
	}
	return "text"
}

func (s *shape) keyNames() []string {
	names := make([]string, len(s.fields))
	for i, f := range s.fields {
		names[i] = f.key
	}
	return names
}

func (s *shape) field(key string) *field {
	for i := range s.fields {
		if s.fields[i].key == key {
			return &s.fields[i]
		}
	}
	return nil
}
