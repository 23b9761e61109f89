package language

import (
	"errors"
	"fmt"
	"io"
	"path"
	"strings"
	"unicode/utf8"

	yaml "go.yaml.in/yaml/v4"
)

// Kind is a kind of show file.
type Kind string

// The kinds of show file.
const (
	ShowFile    Kind = "show"
	RigFile     Kind = "rig"
	LooksFile   Kind = "looks"
	SongFile    Kind = "song"
	SetFile     Kind = "set"
	ProfileFile Kind = "profile" // in a show folder or the built-in library
)

// Kinds lists all kinds.
func Kinds() []Kind { return []Kind{ShowFile, RigFile, LooksFile, SongFile, SetFile, ProfileFile} }

// Where returns the path of a kind's files inside the show folder: "rig.yaml", or
// "songs/NAME.yaml", where the user chooses NAME.
func (k Kind) Where() string {
	switch k {
	case SongFile, SetFile, ProfileFile:
		return string(k) + "s/NAME.yaml"
	}
	return string(k) + ".yaml"
}

// FolderHas is a sentence that lists the files of a show folder.
const FolderHas = "a show folder has show.yaml, rig.yaml, looks.yaml, songs/*.yaml, sets/*.yaml and profiles/*.yaml"

// MaxFileBytes is the size of the largest file accepted. A long song takes a few
// kilobytes.
const MaxFileBytes = 4 << 20

// File is a checked show file.
type File struct {
	Name string // slash path inside the show folder
	Kind Kind
	Root *Value
	// Faulty is true if parts of the file have problems and are missing from Root.
	Faulty bool
}

// KindOf returns the kind of a file from its path inside the show folder.
func KindOf(name string) (Kind, bool) {
	for _, k := range Kinds() {
		where := k.Where()
		if where == name || path.Base(where) == "NAME.yaml" && path.Dir(where) == path.Dir(name) && path.Ext(name) == ".yaml" {
			return k, true
		}
	}
	return "", false
}

// Parse reads one file and checks it against the shape of its kind, which follows from
// its path inside the show folder. If there are problems it returns the parts that
// could be read, so that other files can be checked against them.
func Parse(name string, src []byte) (*File, Problems) {
	kind, ok := KindOf(name)
	if !ok {
		return &File{Name: name}, Problems{{File: name, What: "not a file of a show", Allowed: FolderHas}}
	}
	return ParseAs(name, kind, src)
}

// ParseAs parses a file of a given kind, as [Parse] does.
func ParseAs(name string, kind Kind, src []byte) (*File, Problems) {
	f := &File{Name: name, Kind: kind}
	var found Faults
	if node := read(name, kind, src, &found); node != nil {
		c := checker{file: name, root: node, faults: &found}
		c.checkPlainYAML(node)
		if len(found.List) == 0 {
			f.Root = c.check(node, shapeOf(kind), "")
		}
	}
	f.Faulty = len(found.List) > 0
	return f, found.List.Sorted()
}

// read returns the root node of a source, or nil after adding a problem to found.
func read(name string, kind Kind, src []byte, found *Faults) *yaml.Node {
	if len(src) > MaxFileBytes {
		found.Add(Problem{File: name, What: fmt.Sprintf("too large: %d bytes", len(src)), Allowed: fmt.Sprintf("at most %d bytes", MaxFileBytes)})
		return nil
	}
	if !utf8.Valid(src) {
		line, column := badByte(src)
		found.Add(Problem{File: name, Line: line, Column: column, What: "not UTF-8 text", Allowed: "save the file as UTF-8"})
		return nil
	}
	if reportIndents(name, src, found) {
		return nil
	}
	d := yaml.NewDecoder(strings.NewReader(string(src)))
	var doc, more yaml.Node
	if err := d.Decode(&doc); errors.Is(err, io.EOF) || err == nil && len(doc.Content) == 0 {
		found.Add(Problem{File: name, Line: 1, Column: 1, What: "the file is empty"})
		return nil
	} else if err != nil {
		found.Add(syntaxProblem(name, kind, src, err))
		return nil
	}
	if err := d.Decode(&more); err == nil {
		found.Add(Problem{File: name, Line: max(1, more.Line), Column: max(1, more.Column), What: "a second document starts here", Allowed: "one document a file"})
		return nil
	} else if !errors.Is(err, io.EOF) {
		found.Add(syntaxProblem(name, kind, src, err))
		return nil
	}
	return doc.Content[0]
}

// badByte returns the line and column, from 1, of the first byte that is not UTF-8.
func badByte(src []byte) (line, column int) {
	line, column = 1, 1
	for len(src) > 0 {
		r, n := utf8.DecodeRune(src)
		if r == utf8.RuneError && n <= 1 {
			break
		}
		if column++; r == '\n' {
			line, column = line+1, 1
		}
		src = src[n:]
	}
	return line, column
}
