package language

import (
	"errors"
	"fmt"
	"strings"

	yaml "go.yaml.in/yaml/v4"
)

// syntaxProblem returns the problem of text that is not YAML. For a bracket or quote that is
// never closed it reports where it opened.
func syntaxProblem(name string, kind Kind, src []byte, err error) Problem {
	p := Problem{File: name, Line: 1, Column: 1, What: "not YAML: " + err.Error()}
	var fault *yaml.LoadError
	if errors.As(err, &fault) {
		p.Line, p.Column, p.What, p.Allowed = explained(fault, src)
		from := fault.Mark.Line - 1 // a key that YAML has not seen may be on the line above
		if strings.HasPrefix(fault.ContextMsg, "while parsing a flow") {
			from = fault.ContextMark.Line
		}
		if s := findSlip(kind, src, from, fault.Mark.Line); s.what != "" {
			p.Line, p.Column, p.What, p.Allowed = s.line, s.column, "not YAML: "+s.what, s.write
			return p
		}
	}
	p.Line, p.Column = min(max(1, p.Line), 1+strings.Count(string(src), "\n")), max(1, p.Column)
	if line, column, what := misquoted(src); line > 0 && line <= p.Line {
		p.Line, p.Column, p.What, p.Allowed = line, column, "not YAML: "+what, ""
	}
	return p
}

// explained returns the place of a fault and, for the most frequent faults, a plainer
// message than the YAML library's, and what would be right.
func explained(f *yaml.LoadError, src []byte) (line, column int, what, allowed string) {
	at, from := f.Mark, f.ContextMark
	switch {
	case f.ContextMsg == "while parsing a flow mapping":
		return from.Line, from.Column, `not YAML: "{" opens here and is not closed`, ""
	case f.ContextMsg == "while parsing a flow sequence":
		return from.Line, from.Column, `not YAML: "[" opens here and is not closed`, ""
	case f.ContextMsg == "while scanning a quoted scalar" && strings.Contains(f.Message, "end of"):
		return from.Line, from.Column, "not YAML: a quote opens here and is not closed", ""
	case f.ContextMsg == "while scanning a simple key":
		return from.Line, from.Column, "not YAML: a key without a value, or without its colon", `want "key: value", with a space after the colon`
	case strings.Contains(f.Message, "block sequence entries are not allowed"):
		return at.Line, at.Column, "not YAML: a list begins on the line of its key", "put each item, with its -, on a line of its own below the key, or write [a, b]"
	case strings.Contains(f.Message, "not allowed in this context"), strings.Contains(f.Message, "did not find expected key"),
		strings.Contains(f.Message, "did not find expected '-' indicator"):
		return at.Line, at.Column, "not YAML: out of line with what is above or below",
			"what belongs together starts in the same column, and each item of a list with a -"
	case strings.HasPrefix(strings.TrimLeft(lineOf(src, at.Line), " "), "\t"):
		return at.Line, at.Column, "not YAML: found a tab", "indent with spaces, not tabs"
	}
	return at.Line, at.Column, fmt.Sprintf("not YAML: %s", strings.ReplaceAll(f.Message, "\n", " ")), ""
}

func lineOf(src []byte, n int) string {
	lines := strings.SplitN(string(src), "\n", n+1)
	if n < 1 || n > len(lines) {
		return ""
	}
	return lines[n-1]
}
