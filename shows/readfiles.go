package shows

import (
	"fmt"
	"io/fs"
	"path"

	"tactus/shows/language"
)

// ReadFiles is [SourceFiles] for a folder that may have faults: it returns the files that
// can be read, and the problems of those that cannot.
func ReadFiles(fsys fs.FS, opts Options) (map[string][]byte, language.Problems) {
	var found language.Faults
	all := map[string][]byte{}
	for _, s := range sources(fsys, opts, &found) {
		if s.ok {
			all[s.name] = s.src
		}
	}
	return all, found.List.Sorted()
}

// WriteTarget returns the path inside the show folder at which a file of the show has to be
// written: its own, or the path that it links to. A file that does not exist yet is written
// at its own path. The problem, if there is one, says why it cannot be written: a link out
// of the folder, or a folder or device in its place.
func WriteTarget(fsys fs.FS, name string) (string, *language.Problem) {
	var found language.Faults
	l := loader{fsys: fsys, faults: &found}
	if dir := path.Dir(name); dir != "." {
		if _, info, ok := l.resolve(dir); ok && !info.IsDir() {
			l.fault(dir, "not a folder", language.FolderHas)
		}
	}
	at, info, ok := l.resolve(name)
	switch {
	case ok && info.IsDir():
		l.fault(name, "a folder has this name", "move or rename the folder")
	case ok && !info.Mode().IsRegular():
		l.fault(name, "not a plain file", "")
	case ok && info.Mode().Perm()&0o222 == 0:
		l.fault(name, fmt.Sprintf("the file is read-only (%v)", info.Mode().Perm()), "make it writable")
	}
	if len(found.List) > 0 {
		return "", &found.List[0]
	}
	if !ok {
		at = name
	}
	return at, nil
}
