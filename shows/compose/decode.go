package compose

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"reflect"
	"slices"
	"strings"

	"tactus/shows/language"
)

// Bounds of one request.
const (
	MaxEdits     = 1000    // edits that are applied together
	MaxEditBytes = 1 << 20 // their JSON
)

// ErrDecode is wrapped by every error of Decode.
var ErrDecode = errors.New("not a usable edit")

// Decode reads edits from JSON: an array of objects, or one object. Each object has the
// key "do" with the kind of edit, and the keys of that kind; no key may be missing unless
// it is optional, be unknown or come twice. At most MaxEdits edits in MaxEditBytes. Errors
// wrap ErrDecode and say which edit is wrong, counted from 1, and what would be right.
func Decode(src []byte) ([]Edit, error) {
	if len(src) > MaxEditBytes {
		return nil, fmt.Errorf("%w: %d bytes, at most %d", ErrDecode, len(src), MaxEditBytes)
	}
	var raw []json.RawMessage
	if one := bytes.TrimSpace(src); len(one) > 0 && one[0] == '{' {
		raw = []json.RawMessage{one}
	} else if err := json.Unmarshal(src, &raw); err != nil {
		return nil, fmt.Errorf("%w: want a JSON array of edits: %w", ErrDecode, err)
	}
	if len(raw) == 0 || len(raw) > MaxEdits {
		return nil, fmt.Errorf("%w: %d edits, want 1 to %d", ErrDecode, len(raw), MaxEdits)
	}
	edits := make([]Edit, len(raw))
	for i, r := range raw {
		e, err := decodeOne(r)
		if err != nil {
			return nil, fmt.Errorf("%w: edit %d: %w", ErrDecode, i+1, err)
		}
		edits[i] = e
	}
	return edits, nil
}

// Kinds lists the words that name edits in JSON, sorted.
func Kinds() []string { return slices.Sorted(maps.Keys(kinds())) }

func decodeOne(src json.RawMessage) (Edit, error) {
	members, err := membersOf(src)
	if err != nil {
		return nil, err
	}
	var do string
	if err := json.Unmarshal(members["do"], &do); err != nil || do == "" {
		return nil, fmt.Errorf(`the key "do" is missing or not a text; it names the edit, such as "set energy"`)
	}
	e, known := kinds()[do]
	if !known {
		return nil, unknownError(fmt.Sprintf("unknown edit %q", language.Shorten(do)), do, "edits are", Kinds())
	}
	if err := fill(reflect.ValueOf(e).Elem(), members); err != nil {
		return nil, fmt.Errorf("%s: %w", do, err)
	}
	return e, nil
}

// membersOf reads the keys of an object, each of which may come once.
func membersOf(src json.RawMessage) (map[string]json.RawMessage, error) {
	d := json.NewDecoder(bytes.NewReader(src))
	if open, err := d.Token(); err != nil || open != json.Delim('{') {
		return nil, fmt.Errorf("want an object such as {\"do\": \"set energy\", ...}")
	}
	members := map[string]json.RawMessage{}
	for d.More() {
		token, err := d.Token()
		if err != nil {
			return nil, err
		}
		key, _ := token.(string) // keys of JSON objects are texts
		if _, twice := members[key]; twice {
			return nil, fmt.Errorf("the key %q comes twice", language.Shorten(key))
		}
		var value json.RawMessage
		if err := d.Decode(&value); err != nil {
			return nil, err
		}
		members[key] = value
	}
	return members, nil
}

// fill sets the fields of an edit from an object's members. A field whose tag has
// omitempty may be missing.
func fill(into reflect.Value, members map[string]json.RawMessage) error {
	keys := []string{"do"}
	for i := range into.NumField() {
		key, rest, _ := strings.Cut(into.Type().Field(i).Tag.Get("json"), ",")
		keys = append(keys, key)
		src, given := members[key]
		if !given {
			if rest != "omitempty" {
				return fmt.Errorf("the key %q is missing", key)
			}
			continue
		}
		_, takesNull := into.Field(i).Interface().(Value)
		if bytes.Equal(src, []byte("null")) && rest != "omitempty" && !takesNull {
			return fmt.Errorf("%q is null", key)
		}
		d := json.NewDecoder(bytes.NewReader(src))
		d.DisallowUnknownFields()
		if err := d.Decode(into.Field(i).Addr().Interface()); err != nil {
			return fmt.Errorf("%q: have %s, want %s", key, language.Shorten(string(src)), wants(into.Field(i).Type()))
		}
	}
	for _, key := range slices.Sorted(maps.Keys(members)) {
		if !slices.Contains(keys, key) {
			return unknownError(fmt.Sprintf("unknown key %q", language.Shorten(key)), key, "keys are", keys)
		}
	}
	return nil
}

// unknownError says that a word is unknown, which word may have been meant, and which there are.
func unknownError(what, word, lead string, words []string) error {
	if near := language.Nearest(word, words); near != "" {
		what += fmt.Sprintf(" (did you mean %q?)", near)
	}
	return errors.New(what + "; " + language.Listed(lead, words))
}

// wants says in words what JSON value a field takes.
func wants(t reflect.Type) string {
	if t == reflect.TypeFor[Value]() {
		return "a text, a number, true or false, a list, an object, or null"
	}
	switch t.Kind() {
	case reflect.String:
		return "a text"
	case reflect.Int, reflect.Int64:
		return "a whole number"
	case reflect.Float64:
		return "a number"
	case reflect.Bool:
		return "true or false"
	case reflect.Slice:
		return "a list; each item: " + wants(t.Elem())
	}
	return "an object"
}
