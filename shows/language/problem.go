package language

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
)

// Problem is one fault of a show file.
type Problem struct {
	File    string // slash path inside the show folder
	Line    int    // from 1; 0 when the whole file is meant
	Column  int    // from 1, in characters
	Path    string // place in the file: "sections[2].chorus.look"
	What    string // what is wrong
	Allowed string // what may stand there, if that helps
	Nearest string // the valid name that was probably meant, or ""
}

// String prints the fault on one line:
//
//	songs/lanterns.yaml:12:9: sections[2].chorus.look: no look "ember" (did you mean "embers"?); looks are: embers, dark
func (p Problem) String() string {
	var b strings.Builder
	b.WriteString(p.File)
	if p.Line > 0 {
		fmt.Fprintf(&b, ":%d:%d", p.Line, p.Column)
	}
	b.WriteString(": ")
	if p.Path != "" {
		b.WriteString(p.Path + ": ")
	}
	b.WriteString(p.What)
	if p.Nearest != "" {
		fmt.Fprintf(&b, " (did you mean %q?)", p.Nearest)
	}
	if p.Allowed != "" {
		b.WriteString("; " + p.Allowed)
	}
	return b.String()
}

// Problems is every fault found, sorted by file and place. It is an error when
// it is not empty; use Err to get one that is nil when there are none.
type Problems []Problem

// Error prints one fault a line.
func (ps Problems) Error() string {
	lines := make([]string, len(ps))
	for i, p := range ps {
		lines[i] = p.String()
	}
	return strings.Join(lines, "\n")
}

// Err returns the problems as an error, or nil when there are none.
func (ps Problems) Err() error {
	if len(ps) == 0 {
		return nil
	}
	return ps
}

// Sorted orders the faults and drops repeats.
func (ps Problems) Sorted() Problems {
	slices.SortStableFunc(ps, func(a, b Problem) int {
		return cmp.Or(cmp.Compare(a.File, b.File), cmp.Compare(a.Line, b.Line),
			cmp.Compare(a.Column, b.Column), cmp.Compare(a.Path, b.Path), cmp.Compare(a.What, b.What))
	})
	return slices.Compact(ps)
}

// MaxProblems bounds what one file may report, so that a file of rubbish does
// not bury the others.
const MaxProblems = 500

// Faults collects the problems of one file or one compile.
type Faults struct {
	List   Problems
	byFile map[string]int
}

// Add takes a problem, unless its file has more than MaxProblems already.
func (f *Faults) Add(p Problem) {
	if f.byFile == nil {
		f.byFile = map[string]int{}
	}
	n := f.byFile[p.File]
	f.byFile[p.File]++
	if n == MaxProblems {
		p = Problem{File: p.File, What: fmt.Sprintf("more than %d faults; the rest are not listed", MaxProblems)}
	}
	if n <= MaxProblems {
		f.List = append(f.List, p)
	}
}

// At reports a fault at a value.
func (f *Faults) At(v *Value, what, allowed, nearest string) {
	if v == nil {
		return
	}
	f.Add(Problem{v.file, v.Line, v.Column, v.path, what, allowed, nearest})
}

// Unknown reports a name that nothing has, with the nearest that exists.
func (f *Faults) Unknown(v *Value, what, plural string, names []string) {
	if v == nil {
		return
	}
	f.At(v, fmt.Sprintf("no %s %q", what, Shorten(v.Text)), Listed(plural+" are", names), Nearest(v.Text, names))
}

// Listed prints "looks are: a, b, c", cut short when there are many.
func Listed(lead string, names []string) string {
	const most = 12
	if len(names) == 0 {
		return "there are none"
	}
	if len(names) > most {
		return fmt.Sprintf("%s: %s and %d more", lead, strings.Join(names[:most], ", "), len(names)-most)
	}
	return lead + ": " + strings.Join(names, ", ")
}

// Shorten keeps what a message quotes to a readable length.
func Shorten(s string) string {
	const most = 60
	if r := []rune(s); len(r) > most {
		return string(r[:most]) + "…"
	}
	return s
}
