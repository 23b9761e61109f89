package shows

import (
	"fmt"
	"strings"
)

// unclosed looks for what people leave open: quotes, brackets, and colours
// without quotes, whose "#" begins a comment. It is asked only about text that
// is not YAML, where readers notice such a fault lines later. It returns line 0
// when it finds none.
func unclosed(src []byte) (line, column int, what string) {
	var s opened
	for i, text := range strings.Split(string(src), "\n") {
		if s.depth > 0 && outside(text, s.indent) {
			break
		}
		if column, what := s.read(i+1, strings.TrimRight(text, "\r")); what != "" {
			return i + 1, column, what
		}
	}
	if s.depth == 0 {
		return 0, 0, ""
	}
	return s.line, s.column, fmt.Sprintf("%q opens here and is not closed", s.bracket)
}

// outside reports a line that cannot belong to brackets which opened on a line
// with this indent.
func outside(text string, indent int) bool {
	body := strings.TrimLeft(text, " ")
	return body != "" && !strings.ContainsAny(body[:1], "]},#\r") && len(text)-len(body) <= indent
}

// opened is the outermost bracket that is open.
type opened struct {
	depth        int
	bracket      string
	line, column int // from 1
	indent       int // of its line
}

// read follows the quotes and brackets of a line. It returns a fault and its
// column, or "".
func (s *opened) read(line int, text string) (column int, what string) {
	runes := []rune(text)
	starts := true    // whether a value may start here
	last := rune(' ') // the last that is no space
	for i := 0; i < len(runes); i++ {
		r := runes[i]
		switch {
		case r == ' ':
			starts = starts || last == ':' || last == '-'
			continue
		case r == '#' && (i == 0 || runes[i-1] == ' '):
			if s.depth > 0 && last == ':' {
				return i + 1, `"#" begins a comment here; a colour goes in quotes, such as "#ff8040"`
			}
			return 0, ""
		case starts && (r == '"' || r == '\''):
			end := closing(runes, i)
			if end < 0 {
				return i + 1, "a quote opens here and is not closed on its line"
			}
			if what := after(runes[end+1:]); what != "" {
				return end + 1, what
			}
			i = end
		case r == '{' || r == '[':
			s.open(line, i+1, text, string(r))
		case r == '}' || r == ']':
			s.depth = max(0, s.depth-1)
		}
		starts = strings.ContainsRune("{[,", r)
		last = r
	}
	return 0, ""
}

func (s *opened) open(line, column int, text, bracket string) {
	if s.depth++; s.depth == 1 {
		s.line, s.column, s.bracket = line, column, bracket
		s.indent = len(text) - len(strings.TrimLeft(text, " "))
	}
}

// closing returns where the quote that opens at i ends, or -1.
func closing(runes []rune, i int) int {
	quote := runes[i]
	for i++; i < len(runes); i++ {
		switch {
		case runes[i] == '\\' && quote == '"':
			i++
		case runes[i] != quote:
		case quote == '\'' && i+1 < len(runes) && runes[i+1] == quote:
			i++
		default:
			return i
		}
	}
	return -1
}

// after says what is wrong with what follows a closed quote.
func after(rest []rune) string {
	text := strings.TrimLeft(string(rest), " ")
	if text == "" || strings.ContainsAny(text[:1], ",]}:") || text[0] == '#' && len(text) < len(string(rest)) {
		return ""
	}
	return "a quote closes here, but text follows; a quote is missing on this line, or one too many"
}
