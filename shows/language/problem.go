package language

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
)

// Problem is one fault in a show file.
type Problem struct {
	File    string // slash path inside the show folder
	Line    int    // from 1; 0: the whole file
	Column  int    // from 1, in characters
	Path    string // place in the file: "sections[2].chorus.look"
	What    string // what is wrong
	Allowed string // what would be right, or ""
	Nearest string // the valid name that was probably meant, or ""
	Other   int    // line of the same file that has the other part of a clash, such as two fixtures on one slot; 0: none
	Asked   bool   // the files are right, and do not have what was asked for, such as a set
	unknown bool   // What is about a name that does not exist: see [Faults.UnknownAt]
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

// Problems is a list of faults. It implements error; use Err to get a nil error from
// an empty list.
type Problems []Problem

// Error prints each fault on its own line, a name that is unknown in several places
// once.
func (ps Problems) Error() string { return strings.Join(ps.Lines(), "\n") }

// Lines prints the faults, a line each. A name that is unknown in several places has
// one line, which lists the others by file and line.
func (ps Problems) Lines() (lines []string) {
	at := map[Problem]int{}       // by what is wrong: its line
	others := map[int][]Problem{} // by line
	for _, p := range ps {
		key := Problem{What: p.What, Allowed: p.Allowed, Nearest: p.Nearest, unknown: p.unknown}
		if i, ok := at[key]; ok && p.unknown && p.Line > 0 {
			others[i] = append(others[i], p)
			continue
		}
		at[key] = len(lines)
		lines = append(lines, p.String())
	}
	for i, list := range others {
		lines[i] += alsoAt(list)
	}
	return lines
}

// alsoAt lists places: "; also at looks.yaml:14, 20; songs/pier.yaml:7".
func alsoAt(list []Problem) string {
	var b strings.Builder
	b.WriteString("; also at ")
	for i, p := range list {
		switch {
		case i == 0:
			fmt.Fprintf(&b, "%s:%d", p.File, p.Line)
		case p.File != list[i-1].File:
			fmt.Fprintf(&b, "; %s:%d", p.File, p.Line)
		case p.Line != list[i-1].Line:
			fmt.Fprintf(&b, ", %d", p.Line)
		}
	}
	return b.String()
}

// Err returns the problems as an error, or nil if there are none.
func (ps Problems) Err() error {
	if len(ps) == 0 {
		return nil
	}
	return ps
}

// Sorted sorts the faults in place by file, line and column, and returns them without
// duplicates.
func (ps Problems) Sorted() Problems {
	slices.SortStableFunc(ps, func(a, b Problem) int {
		return cmp.Or(cmp.Compare(a.File, b.File), cmp.Compare(a.Line, b.Line),
			cmp.Compare(a.Column, b.Column), cmp.Compare(a.Path, b.Path), cmp.Compare(a.What, b.What))
	})
	return slices.Compact(ps)
}

// MaxProblems is the most problems reported for one file, so that one bad file does not
// hide the problems of the others.
const MaxProblems = 500

// Faults collects the problems of one file, or of one compilation.
type Faults struct {
	List   Problems
	byFile map[string]int
}

// Add adds a problem. From a file with more than MaxProblems it adds one last problem
// that says so, and no more.
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

// problem returns a problem at the value's place.
func (v *Value) problem(what, allowed, nearest string) Problem {
	return Problem{File: v.file, Line: v.Line, Column: v.Column, Path: v.path, What: what, Allowed: allowed, Nearest: nearest}
}

// At reports a fault at a value.
func (f *Faults) At(v *Value, what, allowed, nearest string) {
	if v == nil {
		return
	}
	f.Add(v.problem(what, allowed, nearest))
}

// Clash is [Faults.At] for a value that does not go with one on another line of the file.
func (f *Faults) Clash(v *Value, what, allowed string, other int) {
	if v == nil {
		return
	}
	p := v.problem(what, allowed, "")
	p.Other = other
	f.Add(p)
}

// Unknown reports a name that does not exist, and suggests the nearest one that does.
func (f *Faults) Unknown(v *Value, what, plural string, names []string) {
	if v == nil {
		return
	}
	f.UnknownAt(v, fmt.Sprintf("no %s %q", what, Shorten(v.Text)), Listed(plural+" are", names), Nearest(v.Text, names))
}

// UnknownAt reports a name that does not exist and is only a part of the value.
func (f *Faults) UnknownAt(v *Value, what, allowed, nearest string) {
	if v == nil {
		return
	}
	p := v.problem(what, allowed, nearest)
	p.unknown = true
	f.Add(p)
}

// Shorten cuts a quoted text to 60 letters and adds an ellipsis.
func Shorten(s string) string {
	const most = 60
	if r := []rune(s); len(r) > most {
		return string(r[:most]) + "…"
	}
	return s
}
