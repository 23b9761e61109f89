package shows

import (
	"errors"
	"regexp"
	"strconv"
	"strings"

	"github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/parser"
)

// The other reader takes time that grows with the square of how deep a text is
// nested (135 s for 100,000 brackets), so it is handed only texts that a person
// may have typed.
const (
	maxSecondLook = 1 << 18 // bytes
	maxLine       = 2000    // bytes
	maxBrackets   = 200     // open at once
)

func readable(src []byte) bool {
	depth, line := 0, 0
	for _, b := range src {
		switch b {
		case '[', '{':
			depth++
		case ']', '}':
			depth = max(0, depth-1)
		case '\n':
			line = -1
		}
		if line++; line > maxLine || depth > maxBrackets {
			return false
		}
	}
	return len(src) <= maxSecondLook
}

var yamlLine = regexp.MustCompile(`^yaml: (?:line (\d+): )?(?s:(.*))`)

// syntax reports text that is not YAML. The reader that we build on knows at
// best the line, and for a bracket or quote that is never closed a wrong one;
// another reader, asked only now, knows the place.
func syntax(name string, src []byte, err error) Problem {
	p := Problem{File: name, Line: 1, Column: 1, What: "not YAML: " + err.Error()}
	if m := yamlLine.FindStringSubmatch(err.Error()); m != nil {
		p.What = "not YAML: " + m[2]
		if n, err := strconv.Atoi(m[1]); err == nil {
			p.Line = n
		}
	}
	if line, column, what := secondLook(src); line > 0 {
		p.Line, p.Column, p.What = line, column, "not YAML: "+what
	}
	p.Line = min(max(1, p.Line), 1+strings.Count(string(src), "\n"))
	p.What, p.Allowed = advice(p.What)
	if line, column, what := unclosed(src); line > 0 && line <= p.Line {
		p.Line, p.Column, p.What, p.Allowed = line, column, "not YAML: "+what, ""
	}
	if line := lineOf(src, p.Line); strings.HasPrefix(strings.TrimLeft(line, " "), "\t") {
		p.Allowed = "indent with spaces, not tabs"
	}
	return p
}

// advice says what to do about the faults that people make most. The readers'
// own words are for those who write readers.
func advice(what string) (string, string) {
	switch {
	case strings.Contains(what, "non-map value"), strings.Contains(what, "unexpected key name"):
		return "not YAML: a key without a value, or without its colon", `want "key: value", with a space after the colon`
	case strings.Contains(what, "not allowed in this context"):
		return "not YAML: out of line with what is above or below",
			"what belongs together starts in the same column, and each item of a list with a -"
	}
	return strings.ReplaceAll(what, "character '\t' that cannot start any token", "a tab"), ""
}

// secondLook returns line 0 when the other reader finds no fault, or falls over
// the text, which is why it is not the one that we build on.
func secondLook(src []byte) (line, column int, what string) {
	if !readable(src) {
		return 0, 0, ""
	}
	defer func() {
		if recover() != nil {
			line = 0
		}
	}()
	_, err := parser.ParseBytes(src, 0)
	var fault *yaml.SyntaxError
	if !errors.As(err, &fault) || fault.Token == nil || fault.Token.Position == nil {
		return 0, 0, ""
	}
	at := fault.Token.Position
	return at.Line, max(1, at.Column), strings.ReplaceAll(fault.Message, "\n", " ")
}

func lineOf(src []byte, n int) string {
	lines := strings.SplitN(string(src), "\n", n+1)
	if n < 1 || n > len(lines) {
		return ""
	}
	return lines[n-1]
}
