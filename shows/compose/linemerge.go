package compose

import (
	"fmt"
	"slices"
	"strings"

	"github.com/rogpeppe/go-internal/diff"
)

// hunk replaces the lines from and to of a text, counted from 0, by others.
type hunk struct {
	from, to int
	lines    []string // with their line ends
}

// linesOf splits a text behind its line feeds.
func linesOf(src []byte) []string {
	lines := strings.SplitAfter(string(src), "\n")
	if lines[len(lines)-1] == "" {
		lines = lines[:len(lines)-1]
	}
	return lines
}

// hunksOf returns the differences of two texts, in order.
func hunksOf(old, now []byte) (list []hunk) {
	to := linesOf(now)
	x, y, open := 0, 0, false // lines of old and now that were passed; whether the last hunk may grow
	unified := strings.Split(string(diff.Diff("", old, "", now)), "\n")
	for _, line := range unified[min(headingLines, len(unified)):] {
		switch {
		case strings.HasPrefix(line, "@@ "):
			var from, count int
			_, _ = fmt.Sscanf(line, "@@ -%d,%d", &from, &count) // the library writes it so
			if count > 0 {
				from-- // it counts lines from 1, but for those of no lines
			}
			x, y, open = from, y+from-x, false
		case strings.HasPrefix(line, " "):
			x, y, open = x+1, y+1, false
		case strings.HasPrefix(line, "-"), strings.HasPrefix(line, "+"):
			if !open {
				list, open = append(list, hunk{from: x, to: x}), true
			}
			h := &list[len(list)-1]
			if line[0] == '-' {
				x++
				h.to++
			} else {
				h.lines = append(h.lines, to[y])
				y++
			}
		}
	}
	return list
}

// headingLines is the number of lines above the first hunk: the command, and both names.
const headingLines = 3

// mergeLines makes the change from base to mine in theirs, which is another change of base. ok
// is false if both change the same lines in different ways; line is the first of these,
// counted from 1 in base.
func mergeLines(base, mine, theirs []byte) (merged []byte, line int, ok bool) {
	from := linesOf(base)
	a, b := hunksOf(base, mine), hunksOf(base, theirs)
	var out strings.Builder
	at := 0 // line of base
	take := func(h hunk) {
		out.WriteString(strings.Join(from[at:h.from], ""))
		out.WriteString(strings.Join(h.lines, ""))
		at = h.to
	}
	for len(a) > 0 || len(b) > 0 {
		switch {
		case len(b) == 0 || len(a) > 0 && a[0].before(b[0]):
			take(a[0])
			a = a[1:]
		case len(a) == 0 || b[0].before(a[0]):
			take(b[0])
			b = b[1:]
		case a[0].from == b[0].from && a[0].to == b[0].to && slices.Equal(a[0].lines, b[0].lines):
			take(a[0])
			a, b = a[1:], b[1:]
		default:
			return nil, max(a[0].from, b[0].from) + 1, false
		}
	}
	out.WriteString(strings.Join(from[at:], ""))
	return []byte(out.String()), 0, true
}

// before reports whether a hunk ends before another begins. Two hunks that insert lines at
// the same place have no order: neither is before the other.
func (h hunk) before(other hunk) bool {
	return h.to < other.from || h.to == other.from && (h.from < h.to || other.from < other.to)
}
