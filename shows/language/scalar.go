package language

import (
	"regexp"

	yaml "go.yaml.in/yaml/v4"
)

// scalarKind is the type of a scalar in YAML's core schema.
type scalarKind uint8

const (
	textual scalarKind = iota
	empty
	boolean
	integer
	decimal
)

// Source: YAML 1.2.2, 10.3.2 "Tag Resolution".
var (
	coreNull  = regexp.MustCompile(`^(null|Null|NULL|~|)$`)
	coreBool  = regexp.MustCompile(`^(true|True|TRUE|false|False|FALSE)$`)
	coreInt   = regexp.MustCompile(`^([-+]?[0-9]+|0o[0-7]+|0x[0-9a-fA-F]+)$`)
	coreFloat = regexp.MustCompile(`^([-+]?(\.[0-9]+|[0-9]+(\.[0-9]*)?)([eE][-+]?[0-9]+)?|[-+]?\.(inf|Inf|INF)|\.(nan|NaN|NAN))$`)
)

// scalarOf returns the type that an editor gives the scalar. The checker accepts only
// text as words and only integers as whole numbers, so that it agrees with editors.
func scalarOf(n *yaml.Node) scalarKind {
	const quoted = yaml.DoubleQuotedStyle | yaml.SingleQuotedStyle | yaml.LiteralStyle | yaml.FoldedStyle
	switch {
	case n.Style&quoted != 0:
		return textual
	case coreNull.MatchString(n.Value):
		return empty
	case coreBool.MatchString(n.Value):
		return boolean
	case coreInt.MatchString(n.Value):
		return integer
	case coreFloat.MatchString(n.Value):
		return decimal
	}
	return textual
}
