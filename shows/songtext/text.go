package songtext

import (
	"slices"
	"strings"
)

// Text is a file as lines.
type Text struct {
	Lines []string // without line feeds
	CR    string   // "\r" if the file ends its lines with it, else ""
	Whole bool     // the last line has an end too
	Odd   bool     // it has line ends that YAML counts and editors do not: U+0085, U+2028, U+2029, or a carriage return alone (YAML 1.1, 5.4)
}

// Read splits a file into lines.
func Read(src []byte) Text {
	s := string(src)
	t := Text{Odd: strings.ContainsAny(s, "\u0085\u2028\u2029")}
	if t.Whole = strings.HasSuffix(s, "\n"); t.Whole {
		s = s[:len(s)-1]
	}
	t.Lines = strings.Split(s, "\n")
	if strings.HasSuffix(t.Lines[0], "\r") {
		t.CR = "\r"
	}
	for _, line := range t.Lines {
		if cr := strings.IndexByte(line, '\r'); cr >= 0 && cr < len(line)-1 {
			t.Odd = true
		}
	}
	return t
}

// Bytes joins lines as a file that ends as this one does.
func (t *Text) Bytes(lines []string) []byte {
	s := strings.Join(lines, "\n")
	if t.Whole {
		s += "\n"
	}
	return []byte(s)
}

// With returns the lines with one more after line number after, counted from 1. It ends
// as the others do.
func (t *Text) With(after int, line string) []string {
	lines := slices.Insert(slices.Clone(t.Lines), after, line+t.CR)
	if after == len(t.Lines) && !t.Whole {
		lines[after-1], lines[after] = lines[after-1]+t.CR, line
	}
	return lines
}

// IsRemark reports whether a line is empty or a comment.
func IsRemark(line string) bool {
	s := strings.TrimSpace(line)
	return s == "" || s[0] == '#'
}
