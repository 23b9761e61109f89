package yamltext

import yaml "go.yaml.in/yaml/v4"

// IsMapping reports whether a value is a mapping.
func (d *Document) IsMapping(p Path) bool {
	e := d.at(p)
	return e != nil && e.isMapping()
}

// Text returns the text of a scalar; "" for anything else.
func (d *Document) Text(p Path) string {
	if e := d.at(p); e != nil && e.node.Kind == yaml.ScalarNode {
		return e.node.Value
	}
	return ""
}

// Source returns a value as it is written, with all its lines.
func (d *Document) Source(p Path) string {
	if e := d.at(p); e != nil {
		return d.src[e.start:e.end]
	}
	return ""
}

// Line returns the line of a value, from 1; 0 if there is none.
func (d *Document) Line(p Path) int {
	if e := d.at(p); e != nil {
		return e.node.Line
	}
	return 0
}

// Keys returns the keys of a mapping in their order.
func (d *Document) Keys(p Path) (keys []string) {
	if e := d.at(p); e != nil {
		for _, k := range e.keys {
			keys = append(keys, k.node.Value)
		}
	}
	return keys
}

// Len returns the number of items of a list, or of keys of a mapping.
func (d *Document) Len(p Path) int {
	if e := d.at(p); e != nil {
		return len(e.values)
	}
	return 0
}
