package language

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"
)

// slip is a mistake in writing that makes a line something else than YAML.
type slip struct {
	line, column int // from 1
	what         string
	write        string // what would be right
}

// findSlip returns the first slip on the lines from first to last of a text that is not
// YAML; its what is empty if there is none that it knows.
func findSlip(kind Kind, src []byte, first, last int) slip {
	f := slipFinder{kind: kind}
	for line := max(1, first); line <= last; line++ {
		if s := f.find([]rune(strings.TrimRight(lineOf(src, line), "\r"))); s.what != "" {
			s.line = line
			return s
		}
	}
	return slip{}
}

// reportIndents reports lines that begin with what looks like spaces, or like nothing. YAML takes
// it for a part of the key, and says nothing. It returns whether there are any.
func reportIndents(name string, src []byte, found *Faults) bool {
	var p Problem
	var others []string
	for i, line := range strings.Split(strings.TrimPrefix(string(src), "\ufeff"), "\n") {
		text := strings.TrimLeft(line, " \t")
		first, _ := utf8.DecodeRuneInString(text)
		if !oddSpace(first) && !invisible(first) {
			continue
		}
		if p.File != "" {
			others = append(others, strconv.Itoa(i+1))
			continue
		}
		p = Problem{
			File: name, Line: i + 1, Column: utf8.RuneCountInString(line) - utf8.RuneCountInString(text) + 1,
			What: "the line is indented with " + lookalikesIn(string(first)), Allowed: "indent with spaces alone",
		}
		if invisible(first) {
			p.What, p.Allowed = "the line begins with "+lookalikesIn(string(first)), "delete it"
		}
	}
	if p.File == "" {
		return false
	}
	if len(others) > 0 {
		p.Allowed += "; the same on lines: " + strings.Join(others, ", ")
	}
	found.Add(p)
	return true
}

// slipFinder looks for slips line by line.
type slipFinder struct {
	kind  Kind
	depth int // open braces and brackets
}

// find looks for a slip on a line.
func (f *slipFinder) find(line []rune) slip {
	at := 0
	for ; at < len(line) && (line[at] == ' ' || line[at] == '\t' || line[at] == '-' && spaceAt(line, at+1)); at++ {
		if line[at] == '\t' && f.depth == 0 {
			return slip{column: at + 1, what: "found a tab", write: "indent with spaces, not tabs"}
		}
	}
	start, colons := at, []int(nil) // of the present token: a value, or a key with its value
	for ; at < len(line); at++ {
		r := line[at]
		empty := strings.TrimSpace(string(line[start:at])) == "" || len(colons) > 0 && strings.TrimSpace(string(line[colons[len(colons)-1]+1:at])) == ""
		switch {
		case r == '#' && (at == 0 || spaceAt(line, at-1)):
			return f.nested(line[:at], start, colons)
		case empty && (r == '"' || r == '\''):
			end := closing(line, at)
			if end < 0 {
				return slip{}
			}
			at = end
		case empty && (r == '{' || r == '['):
			if len(colons) > 1 {
				return f.nested([]rune(withoutComment(string(line))), start, colons)
			}
			f.depth++
			start, colons = at+1, nil
		case f.depth > 0 && strings.ContainsRune(",}]", r):
			if s := f.nested(line[:at], start, colons); s.what != "" {
				return s
			}
			if r != ',' {
				f.depth--
			}
			start, colons = at+1, nil
		case empty && strings.ContainsRune("“„«", r):
			return slip{column: at + 1, what: lookalikesIn(string(r)) + ", which YAML takes for a letter", write: `write straight quotes: "`}
		case oddSpace(r) || invisible(r) || r == '：' && len(colons) == 0 || f.depth > 0 && strings.ContainsRune("，｝］", r) || empty && strings.ContainsRune("｛［＃", r):
			return slip{column: at + 1, what: "found " + lookalikesIn(string(r)), write: writePlain(r)}
		case r == ':' && spaceAt(line, at+1):
			colons = append(colons, at)
		}
	}
	return f.nested(line, start, colons)
}

func writePlain(r rune) string {
	switch plain := plainRune(r); plain {
	case -1:
		return "delete it"
	case ' ':
		return "write a plain space"
	case ':', ',':
		return fmt.Sprintf("write %q and a space after it", string(plain))
	default:
		return fmt.Sprintf("write %q", string(plain))
	}
}

// withoutComment cuts a comment off a line.
func withoutComment(line string) string {
	text, _, _ := strings.Cut(line, " #")
	return text
}

// spaceAt reports whether the line ends at i, or has a space or tab there.
func spaceAt(line []rune, i int) bool { return i >= len(line) || line[i] == ' ' || line[i] == '\t' }

// nested returns a slip if a token, which begins at start and ends with the line, has a
// second colon: a mapping without braces, or a text that needs quotes.
func (f *slipFinder) nested(line []rune, start int, colons []int) slip {
	if len(colons) < 2 {
		return slip{}
	}
	key := strings.TrimSpace(string(line[start:colons[0]]))
	inside := strings.TrimSpace(string(line[colons[0]+1 : colons[1]]))
	value := strings.TrimSpace(string(line[colons[0]+1:]))
	if inside == "" || strings.ContainsAny(inside[:1], `"'{[`) || strings.HasPrefix(inside, "- ") {
		return slip{}
	}
	s := slip{column: colons[1] + 1}
	known := keysOf(shapeOf(f.kind), map[string]*shape{})
	takes := known[key]
	_, isKey := known[inside]
	if (takes == nil && isKey || takes.takesMapping()) && !strings.HasSuffix(value, ":") {
		s.what, s.write = "a mapping on the line of its key needs braces", "write "+key+": {"+example(value)+"}"
		return s
	}
	s.what, s.write = `a text with ":" and a space in it needs quotes`, "write "+key+": "+strconv.Quote(example(value))
	return s
}

// example returns what a message says to write: the text itself, unless it is so long
// that only its beginning can be shown.
func example(text string) string {
	if utf8.RuneCountInString(text) <= 160 {
		return text
	}
	return Shorten(text)
}

// takesMapping reports whether a mapping may fit the shape.
func (s *shape) takesMapping() bool {
	return s != nil && (s.form == record || s.form == table || slices.ContainsFunc(s.forms, (*shape).takesMapping))
}

// keysOf collects the keys of all records in a shape, each with a shape of its values.
func keysOf(s *shape, keys map[string]*shape) map[string]*shape {
	if s == nil {
		return keys
	}
	for _, f := range s.fields {
		keys[f.key] = f.shape
		keysOf(f.shape, keys)
	}
	keysOf(s.of, keys)
	for _, f := range s.forms {
		keysOf(f, keys)
	}
	return keys
}
