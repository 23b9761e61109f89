package language

import (
	"regexp"
	"strings"
	"unicode/utf8"
)

// form is the kind of YAML value that a shape describes.
type form uint8

const (
	word     form = iota // text that matches a pattern, or one of a few words
	number               // a whole number
	fraction             // a number that may have a fraction, such as 0.25
	list
	record // a mapping with known keys
	table  // a mapping with names as keys
	either // one of several shapes of different forms
)

// shape describes what is allowed at one place of a file. It is data: check compares
// values with it and Schema prints it.
type shape struct {
	form     form
	called   string // its description in messages: "a length such as 2 bars or 1/2 beat"
	about    string // one sentence for editors
	examples []any

	pattern  *regexp.Regexp // word
	options  []string       // word: the allowed texts
	longest  int            // word: most letters; 0 is no limit
	unit     bool           // word: a number with its unit
	universe bool           // word: the name of a universe

	// canonical spells the units in a word as its readers expect them; nil: it has none.
	canonical func(string) string

	low, high   int64   // number
	lowest, top float64 // fraction

	of          *shape // list and table: the shape of each item
	least, most int    // list and table: number of items; most 0 is no limit
	unique      bool   // list: no duplicates

	fields []field // record
	rules  []rule  // record
	keys   *shape  // table: the shape of a name
	forms  []*shape
}

// field is a key of a record.
type field struct {
	key         string
	required    bool
	description string
	shape       *shape
	formerKey   string // the key's name in older files, or ""
}

// rule says which keys of a record must or must not come together. It applies if its
// condition, when, holds.
type rule struct {
	when when
	need []string // all of these must be present
	any  []string // at least one of these
	one  []string // exactly one of these
	ban  []string // none of these
}

// when is a condition. It holds if the record has key and, if is or not are given, the
// key's text is one of is and none of not. The zero value always holds.
type when struct {
	key string
	is  []string
	not []string
}

func required(key string, s *shape, description string) field {
	return field{key: key, required: true, description: description, shape: s}
}

func optional(key string, s *shape, description string) field {
	return field{key: key, description: description, shape: s}
}

// renamed returns a field for a key that had another name in older files.
func renamed(formerKey string, f field) field {
	f.formerKey = formerKey
	return f
}

func whole(low, high int64, called string, examples ...any) *shape {
	return &shape{form: number, low: low, high: high, called: called, examples: examples}
}

func fractional(lowest, top float64, called string, examples ...any) *shape {
	return &shape{form: fraction, lowest: lowest, top: top, called: called, examples: examples}
}

func matching(pattern, called string, examples ...any) *shape {
	return &shape{form: word, pattern: regexp.MustCompile(`^(?:` + pattern + `)$`), called: called, examples: examples}
}

func (s *shape) upTo(letters int) *shape {
	s.longest = letters
	return s
}

// Matches reports whether a text fits the word's pattern and length.
func (s *shape) Matches(text string) bool {
	return s.pattern.MatchString(text) && (s.longest == 0 || utf8.RuneCountInString(text) <= s.longest)
}

func measured(pattern, called string, examples ...any) *shape {
	s := matching(pattern, called, examples...)
	s.unit = true
	return s.withUnits(canonicalUnits)
}

func (s *shape) withUnits(canonical func(string) string) *shape {
	s.canonical = canonical
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

// oneOrMore accepts one value of a shape, or a list of them without duplicates.
func oneOrMore(of *shape) *shape {
	several := listOf(of, 1, 0)
	several.unique = true
	return oneOf(of, several)
}

// Wants describes in words what is allowed.
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
