package compose

import (
	"slices"

	"tactus/shows"
	"tactus/shows/language"
)

// judge loads sources as shows.Load does, and parses again only the files that changed.
type judge struct {
	set    string       // that is played, as in shows.Options
	loader shows.Loader // keeps what takes long: parsed files, and the mixers of heads
}

// load compiles sources. unread are the problems of files that could not be read; they
// count as problems of the show.
func (j *judge) load(sources map[string][]byte, unread language.Problems) (*shows.Show, language.Problems) {
	return j.loader.LoadSources(sources, unread, shows.Options{Set: j.set})
}

// WithSet compiles the sources of a view with another set as the one that plays, by its
// name. The loader is kept for the next time.
func (v *View) WithSet(loader *shows.Loader, set string) (*shows.Show, language.Problems) {
	return loader.LoadSources(v.Sources, nil, shows.Options{Set: set})
}

// newFaults returns the problems that were not there before an edit. Lines, places and
// lists of names may have changed: a problem is the same if it says the same of the same
// file, as often as before.
func newFaults(before, after language.Problems) (list language.Problems) {
	type key struct{ file, what string }
	had := map[key]int{}
	for _, p := range before {
		had[key{p.File, p.What}]++
	}
	for _, p := range after {
		k := key{p.File, p.What}
		if had[k]--; had[k] < 0 {
			list = append(list, p)
		}
	}
	return list
}

// caused returns the problems for which an edit is refused: those that were not there
// before it. An edit that mends a fault may uncover others, which the loader could not see
// until then. Of these only the ones count that are on lines that it wrote, or clash with
// one.
func caused(before, after language.Problems, was, now map[string][]byte) language.Problems {
	added := newFaults(before, after)
	if len(newFaults(after, before)) == 0 {
		return added
	}
	changes := map[string][]hunk{} // by file
	return slices.DeleteFunc(added, func(p language.Problem) bool {
		if _, known := changes[p.File]; !known {
			changes[p.File] = hunksOf(was[p.File], now[p.File])
		}
		return !wrote(changes[p.File], p.Line) && (p.Other == 0 || !wrote(changes[p.File], p.Other))
	})
}

// wrote reports whether a line of a file, from 1, is one that changes wrote; 0 stands for
// the whole file.
func wrote(changes []hunk, line int) bool {
	added := 0 // lines, by the changes above
	for _, h := range changes {
		first := h.from + added + 1
		if line == 0 || line >= first && line < first+len(h.lines) {
			return true
		}
		added += len(h.lines) - (h.to - h.from)
	}
	return false
}
