package compose

import (
	"bytes"
	"encoding/json"
	"fmt"
)

// Encode writes edits as JSON that [Decode] reads as the same edits.
func Encode(edits []Edit) (json.RawMessage, error) {
	list := make([]json.RawMessage, len(edits))
	for i, e := range edits {
		fields, err := json.Marshal(e)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", e.Do(), err)
		}
		do, err := json.Marshal(e.Do())
		if err != nil {
			return nil, err
		}
		list[i] = append(append([]byte(`{"do":`), do...), '}')
		if rest := bytes.TrimPrefix(fields, []byte("{")); len(rest) > 1 {
			list[i] = append(append(append([]byte(`{"do":`), do...), ','), rest...)
		}
	}
	return json.Marshal(list)
}

// MarshalJSON writes a value as UnmarshalJSON reads it.
func (v Value) MarshalJSON() ([]byte, error) {
	switch {
	case !v.given:
		return []byte("null"), nil
	case v.isList:
		return json.Marshal(append([]Value{}, v.list...))
	case v.keys != nil:
		out := []byte{'{'}
		for i, key := range v.keys {
			name, err := json.Marshal(key)
			if err != nil {
				return nil, err
			}
			value, err := json.Marshal(v.values[i])
			if err != nil {
				return nil, err
			}
			if i > 0 {
				out = append(out, ',')
			}
			out = append(append(append(out, name...), ':'), value...)
		}
		return append(out, '}'), nil
	case !v.quoted && (v.text == "yes" || v.text == "no"):
		return json.Marshal(v.text == "yes")
	case v.quoted || !json.Valid([]byte(v.text)):
		return json.Marshal(v.text)
	}
	return []byte(v.text), nil
}
