package compose

import (
	"fmt"
	"maps"
	"slices"

	"tactus/shows"
	"tactus/shows/language"
)

// files are the sources of a show while edits are applied to them. They are dropped if an
// edit is refused.
type files struct {
	sources   map[string][]byte
	unread    language.Problems // of files that could not be read
	loader    *shows.Loader     // parses files again only if their bytes are others
	drafts    *drafts
	trees     map[string]tree
	documents map[string]document
}

// newFiles returns a copy that edits may change.
func newFiles(sources map[string][]byte, loader *shows.Loader) *files {
	return &files{sources: maps.Clone(sources), loader: loader, drafts: &drafts{}, trees: map[string]tree{}, documents: map[string]document{}}
}

// source returns the bytes of a file, which must not be changed.
func (f *files) source(name string) ([]byte, error) {
	if src, ok := f.sources[name]; ok {
		return src, nil
	}
	if kind, ok := language.KindOf(name); ok && slices.Contains([]language.Kind{language.ShowFile, language.RigFile, language.LooksFile}, kind) {
		return nil, language.Problems{{File: name, What: "the file is missing or cannot be read"}}
	}
	kind, _ := language.KindOf(name)
	names := f.names(kind)
	return nil, language.Problems{{
		File: language.Shorten(name), What: "the show has no such file",
		Allowed: language.Listed("files are", names), Nearest: language.Nearest(name, names),
	}}
}

// names lists the files of a kind; of the kind "" those of all kinds.
func (f *files) names(kind language.Kind) (list []string) {
	for _, name := range slices.Sorted(maps.Keys(f.sources)) {
		if k, _ := language.KindOf(name); kind == "" || k == kind {
			list = append(list, name)
		}
	}
	return list
}

// file returns a file as the loader reads it. A file with faults has its readable parts;
// the error is for files that are missing or have no readable part at all.
func (f *files) file(name string) (*language.File, error) {
	src, err := f.source(name)
	if err != nil {
		return nil, err
	}
	file, problems := f.loader.Parse(name, src)
	if file.Root == nil {
		return nil, problems
	}
	return file, nil
}

// put gives a file other bytes, which must not be changed afterwards, or adds a file.
func (f *files) put(name string, src []byte) { f.sources[name] = src }

// remove takes a file away.
func (f *files) remove(name string) { delete(f.sources, name) }

// refuse returns the error of an edit that cannot be made in a file; line counts from 1, 0
// stands for the whole file.
func refuse(file string, line int, what, allowed string) error {
	return language.Problems{{File: file, Line: line, Column: min(1, line), What: what, Allowed: allowed}}
}

// noSuch returns the error for a part of a song that it does not have. i counts from 0, as
// edits do; what people read counts from 1, as they do.
func noSuch(file, what string, i, have int) error {
	return refuse(file, 0, fmt.Sprintf("there is no %s %d", what, i+1), "the song has "+language.Count(have, what))
}

// unknownName returns the error for a name that does not exist.
func unknownName(file, what, plural, name string, names []string) error {
	return language.Problems{{
		File: file, What: fmt.Sprintf("no %s %q", what, language.Shorten(name)),
		Allowed: language.Listed(plural+" are", names), Nearest: language.Nearest(name, names),
	}}
}
