package shows

import (
	"io/fs"
	"maps"
	"slices"

	"tactus/fixtures"
	"tactus/shows/language"
)

// Loader loads a show again and again while it is edited. It keeps what took long in the
// load before, each under all that it depends on: parsed files under their names and
// bytes, the mixers of heads under their emitters and white. The rest is made anew, so
// that every show and every problem is the same as from [Load].
//
// It keeps nothing that the last load did not use, except that the mixers of the last
// rig without faults stay. A show that it returned never changes by later loads. One
// goroutine at a time may use a Loader. The zero value is ready.
type Loader struct {
	parsed map[parsedKey]*parsedFile
	patch  *fixtures.Patch // of the last rig without faults, or nil
}

type parsedKey struct {
	name string
	kind language.Kind
}

// parsedFile is a parsed file, which nobody changes.
type parsedFile struct {
	src      string
	file     *language.File
	problems language.Problems
	used     bool // since the last Compile
}

// LoaderOf returns a Loader that begins with the mixers of a show that was loaded already.
func LoaderOf(show *Show) *Loader { return &Loader{patch: show.Program.Patch} }

// Load is the function [Load].
func (l *Loader) Load(fsys fs.FS, opts Options) (*Show, language.Problems) {
	var found language.Faults
	var files []*language.File
	for _, s := range sources(fsys, opts, &found) {
		if !s.ok {
			kind, _ := language.KindOf(s.name)
			files = append(files, &language.File{Name: s.name, Kind: kind})
			continue
		}
		f, problems := l.Parse(s.name, s.src)
		found.List = append(found.List, problems...)
		files = append(files, f)
	}
	show, problems := l.Compile(files, opts)
	found.List = append(found.List, problems...)
	if len(found.List) > 0 {
		return nil, found.List.Sorted()
	}
	return show, nil
}

// LoadSources loads sources by path inside the show folder. unread are the problems of files
// that could not be read; they count as problems of the show, unless there is a source now.
func (l *Loader) LoadSources(sources map[string][]byte, unread language.Problems, opts Options) (*Show, language.Problems) {
	var files []*language.File
	var problems language.Problems
	for _, name := range slices.Sorted(maps.Keys(sources)) {
		file, found := l.Parse(name, sources[name])
		files, problems = append(files, file), append(problems, found...)
	}
	for _, p := range unread {
		if _, read := sources[p.File]; read {
			continue
		}
		problems = append(problems, p)
		if kind, ok := language.KindOf(p.File); ok {
			files = append(files, &language.File{Name: p.File, Kind: kind})
		}
	}
	show, more := l.Compile(files, opts)
	if problems = append(problems, more...); len(problems) > 0 {
		return nil, problems.Sorted()
	}
	return show, nil
}

// Parse is [language.Parse]. The file is read-only.
func (l *Loader) Parse(name string, src []byte) (*language.File, language.Problems) {
	kind, ok := language.KindOf(name)
	if !ok {
		return language.Parse(name, src)
	}
	return l.parseAs(name, kind, src)
}

func (l *Loader) parseAs(name string, kind language.Kind, src []byte) (*language.File, language.Problems) {
	key := parsedKey{name, kind}
	p := l.parsed[key]
	if p == nil || p.src != string(src) {
		p = &parsedFile{src: string(src)}
		p.file, p.problems = language.ParseAs(name, kind, src)
		if l.parsed == nil {
			l.parsed = map[parsedKey]*parsedFile{}
		}
		l.parsed[key] = p
	}
	p.used = true
	return p.file, slices.Clone(p.problems)
}

// Compile is the function [Compile]. Files that were not parsed for it, by Parse since
// the last call of Compile, are forgotten.
func (l *Loader) Compile(files []*language.File, opts Options) (*Show, language.Problems) {
	show, problems := l.compile(files, opts)
	maps.DeleteFunc(l.parsed, func(_ parsedKey, p *parsedFile) bool { return !p.used })
	for _, p := range l.parsed {
		p.used = false
	}
	return show, problems
}
