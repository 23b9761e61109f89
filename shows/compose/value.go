package compose

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strings"

	"tactus/shows/language"
)

// Value is a value of a show file, as JSON has it: a text as show files write it, such as
// "40 %" or "2 bars"; a number; true or false for yes or no; a list or an object of these.
// null stands for no value: it takes a key away.
type Value struct {
	given  bool // false: null
	quoted bool // a text, which YAML must not read as a number
	text   string
	list   []Value // if it is a list
	isList bool
	keys   []string // if it is an object, then not nil
	values []Value
}

// Text returns a Value that is a text as show files write it.
func Text(text string) Value { return Value{given: true, quoted: true, text: text} }

// Number returns a Value that is a whole number.
func Number(n int) Value { return Value{given: true, text: fmt.Sprint(n)} }

// Texts returns a Value that is a list of texts.
func Texts(texts []string) Value {
	v := Value{given: true, isList: true}
	for _, t := range texts {
		v.list = append(v.list, Text(t))
	}
	return v
}

// object returns a Value that is an object with one key.
func object(key string, value Value) Value {
	return Value{given: true, keys: []string{key}, values: []Value{value}}
}

// put adds a key at the end of an object. The key must be new.
func (v *Value) put(key string, value Value) {
	v.keys, v.values = append(v.keys, key), append(v.values, value)
}

// Deepest is how many lists and objects may hold one another in a Value.
const Deepest = 8

// UnmarshalJSON reads a value. Objects keep the order of their keys.
func (v *Value) UnmarshalJSON(src []byte) error {
	d := json.NewDecoder(bytes.NewReader(src))
	d.UseNumber()
	return v.read(d, Deepest)
}

func (v *Value) read(d *json.Decoder, deep int) error {
	token, err := d.Token()
	if err != nil {
		return err
	}
	v.given = true
	switch t := token.(type) {
	case nil:
		v.given = false
	case string:
		v.quoted, v.text = true, t
	case json.Number:
		v.text = t.String()
	case bool:
		v.text = map[bool]string{true: "yes", false: "no"}[t]
	case json.Delim:
		if deep == 0 {
			return fmt.Errorf("lists and objects hold one another more than %d times", Deepest)
		}
		return v.readInside(d, t == '[', deep-1)
	}
	return nil
}

// readInside reads the items of a list or the members of an object, and its end.
func (v *Value) readInside(d *json.Decoder, isList bool, deep int) error {
	if v.isList = isList; !isList {
		v.keys = []string{}
	}
	for d.More() {
		if !isList {
			key, err := d.Token()
			if err != nil {
				return err
			}
			name, _ := key.(string) // keys of JSON objects are texts
			if slices.Contains(v.keys, name) {
				return fmt.Errorf("the key %q comes twice", language.Shorten(name))
			}
			v.keys = append(v.keys, name)
		}
		var inside Value
		if err := inside.read(d, deep); err != nil {
			return err
		}
		if !inside.given {
			return errors.New("null stands inside a list or an object")
		}
		if isList {
			v.list = append(v.list, inside)
		} else {
			v.values = append(v.values, inside)
		}
	}
	_, err := d.Token()
	return err
}

// String returns the value as a show file has it on one line, in quotes where YAML needs
// them; "none" for null.
func (v Value) String() string {
	var parts []string
	switch {
	case !v.given:
		return "none"
	case v.isList:
		for _, item := range v.list {
			parts = append(parts, item.String())
		}
		return "[" + strings.Join(parts, ", ") + "]"
	case v.keys != nil:
		for i, key := range v.keys {
			parts = append(parts, keyText(key)+": "+v.values[i].String())
		}
		return "{" + strings.Join(parts, ", ") + "}"
	case v.quoted:
		return scalar(v.text)
	}
	return v.text
}

// lines returns an object with a line for each key. An object that has objects only is
// written likewise below its key.
func (v Value) lines() (list []string) {
	for i, key := range v.keys {
		inside := v.values[i]
		isText := func(v Value) bool { return len(v.keys) == 0 }
		if len(inside.keys) == 0 || slices.ContainsFunc(inside.values, isText) {
			list = append(list, keyText(key)+": "+inside.String())
			continue
		}
		list = append(list, keyText(key)+":")
		for _, line := range inside.lines() {
			list = append(list, "  "+line)
		}
	}
	return list
}

// keyText returns a key as YAML. The key "on" of effects has no quotes, as in all files.
func keyText(key string) string {
	if key == "on" {
		return key
	}
	return scalar(key)
}

// measured matches texts that begin with a digit and that YAML reads as text without
// quotes: 4 bars, 1/2 cycle, -3.5 m, 4/4, 10.0.0.4.
var measured = regexp.MustCompile(`^-?[0-9]+(\.[0-9]+|/[0-9]+)? ?(%|\p{L}+)$|^[0-9]+/[0-9]+$|^[0-9]+(\.[0-9]+){3}$`)

// scalar returns a text as YAML, in quotes where it needs them.
func scalar(text string) string {
	if measured.MatchString(text) {
		return text
	}
	return language.Quote(text)
}
