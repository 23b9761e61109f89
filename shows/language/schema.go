package language

import (
	"encoding/json"
	"fmt"
)

// Schema returns the JSON Schema (draft 2020-12) of a kind of file. Editors use it to
// complete and check files. Only the loader checks how parts refer to one another
// (names, overlaps, positions), and for needless leading zeros and duplicate keys.
func Schema(kind Kind) []byte {
	top := object{
		{"$schema", "https://json-schema.org/draft/2020-12/schema"},
		{"title", fmt.Sprintf("%s file", kind)},
	}
	top = append(top, shapeOf(kind).schema()...)
	out, err := json.MarshalIndent(top, "", "  ")
	if err != nil {
		panic(err) // cannot happen: all values are strings, numbers and lists
	}
	return append(out, '\n')
}

// object is a JSON object that keeps the order of its members.
type object []member

type member struct {
	key   string
	value any
}

// MarshalJSON prints the members in order.
func (o object) MarshalJSON() ([]byte, error) {
	out := []byte{'{'}
	for i, m := range o {
		if i > 0 {
			out = append(out, ',')
		}
		key, err := json.Marshal(m.key)
		if err != nil {
			return nil, err
		}
		value, err := json.Marshal(m.value)
		if err != nil {
			return nil, err
		}
		out = append(append(append(out, key...), ':'), value...)
	}
	return append(out, '}'), nil
}

func (s *shape) schema() object {
	var o object
	if s.about != "" {
		o = append(o, member{"description", s.about})
	}
	switch s.form {
	case word:
		o = append(o, member{"type", "string"})
		if s.options != nil {
			o = append(o, member{"enum", s.options})
		} else {
			o = append(o, member{"pattern", s.pattern.String()})
			if s.longest > 0 {
				o = append(o, member{"maxLength", s.longest})
			}
		}
	case number:
		o = append(o, member{"type", "integer"}, member{"minimum", s.low}, member{"maximum", s.high})
	case fraction:
		o = append(o, member{"type", "number"}, member{"minimum", s.lowest}, member{"maximum", s.top})
	case list:
		o = append(o, member{"type", "array"}, member{"items", s.of.schema()})
		o = append(o, s.bounds("minItems", "maxItems")...)
		if s.unique {
			o = append(o, member{"uniqueItems", true})
		}
	case record:
		o = append(o, s.recordSchema()...)
	case table:
		o = append(o, member{"type", "object"}, member{"propertyNames", s.keys.schema()},
			member{"additionalProperties", s.of.schema()})
		o = append(o, s.bounds("minProperties", "maxProperties")...)
	case either:
		var forms []object
		for _, f := range s.forms {
			forms = append(forms, f.schema())
		}
		o = append(o, member{"anyOf", forms})
	}
	if s.examples != nil {
		o = append(o, member{"examples", s.examples})
	}
	return o
}

func (s *shape) bounds(least, most string) object {
	o := object{{least, s.least}}
	if s.most > 0 {
		o = append(o, member{most, s.most})
	}
	return o
}

func (s *shape) recordSchema() object {
	var fields object
	var needs []string
	for _, f := range s.fields {
		inside := f.shape.schema()
		if f.description != "" && f.shape.about == "" {
			inside = append(object{{"description", f.description}}, inside...)
		}
		fields = append(fields, member{f.key, inside})
		if f.required {
			needs = append(needs, f.key)
		}
	}
	o := object{{"type", "object"}, {"additionalProperties", false}, {"properties", fields}}
	if needs != nil {
		o = append(o, member{"required", needs})
	}
	var all []object
	for _, r := range s.rules {
		all = append(all, r.schema())
	}
	if all != nil {
		o = append(o, member{"allOf", all})
	}
	return o
}

// schema returns the rule's JSON Schema; a condition becomes "if" and "then".
func (r rule) schema() object {
	var then object
	if r.need != nil {
		then = append(then, member{"required", r.need})
	}
	if r.any != nil {
		then = append(then, member{"anyOf", present(r.any)})
	}
	if r.one != nil {
		then = append(then, member{"oneOf", present(r.one)})
	}
	if r.ban != nil {
		then = append(then, member{"not", object{{"anyOf", present(r.ban)}}})
	}
	if r.when.key == "" {
		return then
	}
	condition := object{{"required", []string{r.when.key}}}
	if r.when.is != nil {
		condition = append(condition, member{"properties", object{{r.when.key, object{{"enum", r.when.is}}}}})
	}
	if r.when.not != nil {
		condition = append(condition, member{"properties", object{{
			r.when.key,
			object{{"type", "string"}, {"not", object{{"enum", r.when.not}}}},
		}}})
	}
	return object{{"if", condition}, {"then", then}}
}

// present returns a schema for each key that requires it to be present.
func present(keys []string) []object {
	var each []object
	for _, k := range keys {
		each = append(each, object{{"required", []string{k}}})
	}
	return each
}
