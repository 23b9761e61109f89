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

// The kinds.
const (
	ShowFile    Kind = "show"    // show.yaml
	RigFile     Kind = "rig"     // rig.yaml
	LooksFile   Kind = "looks"   // looks.yaml
	SongFile    Kind = "song"    // songs/*.yaml
	SetFile     Kind = "set"     // sets/*.yaml
	ProfileFile Kind = "profile" // profiles/*.yaml, and the built-in library
)

// Kinds lists the kinds that a show folder has.
func Kinds() []Kind { return []Kind{ShowFile, RigFile, LooksFile, SongFile, SetFile, ProfileFile} }

// FolderHas says what belongs where.
const FolderHas = "a show folder has show.yaml, rig.yaml, looks.yaml, songs/*.yaml, sets/*.yaml and profiles/*.yaml"

// MaxFileBytes is the largest file that is read. A long song has some
// kilobytes.
const MaxFileBytes = 4 << 20

// File is a checked file.
type File struct {
	Name string // slash path inside the show folder
	Kind Kind
	Root *Value
	// faulty says that parts of it do not fit and are missing from root.
	Faulty bool
}

// KindOf returns the kind of a file by its path inside the show folder.
func KindOf(name string) (Kind, bool) {
	switch {
	case name == "show.yaml":
		return ShowFile, true
	case name == "rig.yaml":
		return RigFile, true
	case name == "looks.yaml":
		return LooksFile, true
	case path.Ext(name) != ".yaml":
		return "", false
	}
	switch path.Dir(name) {
	case "songs":
		return SongFile, true
	case "sets":
		return SetFile, true
	case "profiles":
		return ProfileFile, true
	}
	return "", false
}

// Parse reads one file and holds it against the shape of its kind, which its
// path inside the show folder tells. It returns what could be read even when
// there are problems, so that the other files can be checked against it.
func Parse(name string, src []byte) (*File, Problems) {
	kind, ok := KindOf(name)
	if !ok {
		return &File{Name: name}, Problems{{File: name, What: "not a file of a show", Allowed: FolderHas}}
	}
	return ParseAs(name, kind, src)
}

// ParseAs is [Parse] for a file of a kind that its name does not tell.
func ParseAs(name string, kind Kind, src []byte) (*File, Problems) {
	f := &File{Name: name, Kind: kind}
	var found Faults
	if node := read(name, src, &found); node != nil {
		c := checker{file: name, faults: &found}
		c.plain(node)
		if len(found.List) == 0 {
			f.Root = c.check(node, shapeOf(kind), "")
		}
	}
	f.Faulty = len(found.List) > 0
	return f, found.List.Sorted()
}

// read turns source into the root node, or nil with a problem.
func read(name string, src []byte, found *Faults) *yaml.Node {
	if len(src) > MaxFileBytes {
		found.Add(Problem{
			File: name, What: fmt.Sprintf("too large: %d bytes", len(src)),
			Allowed: fmt.Sprintf("at most %d bytes", MaxFileBytes),
		})
		return nil
	}
	if !utf8.Valid(src) {
		line, column := badByte(src)
		found.Add(Problem{
			File: name, Line: line, Column: column, What: "not UTF-8 text",
			Allowed: "save the file as UTF-8",
		})
		return nil
	}
	d := yaml.NewDecoder(strings.NewReader(string(src)))
	var doc, more yaml.Node
	if err := d.Decode(&doc); errors.Is(err, io.EOF) || err == nil && len(doc.Content) == 0 {
		found.Add(Problem{File: name, Line: 1, Column: 1, What: "the file is empty"})
		return nil
	} else if err != nil {
		found.Add(syntax(name, src, err))
		return nil
	}
	if err := d.Decode(&more); err == nil {
		found.Add(Problem{
			File: name, Line: max(1, more.Line), Column: max(1, more.Column),
			What: "a second document starts here", Allowed: "one document a file",
		})
		return nil
	} else if !errors.Is(err, io.EOF) {
		found.Add(syntax(name, src, err))
		return nil
	}
	return doc.Content[0]
}

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
