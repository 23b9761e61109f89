package shows

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"

	"tactus/shows/language"
)

// Options choose what is loaded.
type Options struct {
	// Set is the set list, by its name or its file name without .yaml; the
	// first in file order when empty.
	Set string
	// Instead has sources by path inside the show folder, read instead of the files: to
	// try a file before it is written.
	Instead map[string][]byte
	// RigOnly loads show.yaml, rig.yaml and the profiles, and no looks, songs or sets.
	RigOnly bool
	// Without lists files by path inside the show folder that are treated as missing.
	Without []string
}

// Open returns a show folder as a file system that links cannot lead out of.
func Open(dir string) (fs.FS, error) {
	root, err := os.OpenRoot(dir)
	if err != nil {
		return nil, fmt.Errorf("show folder: %w", err)
	}
	return root.FS(), nil
}

// Load reads a show folder, checks all of it and compiles it. With any problem
// the show is nil.
func Load(fsys fs.FS, opts Options) (*Show, language.Problems) {
	return new(Loader).Load(fsys, opts)
}

// SourceFiles reads the files that Load compiles, by path inside the show folder, with
// the same replacements and without checking what they say. With any problem the
// result is nil.
func SourceFiles(fsys fs.FS, opts Options) (map[string][]byte, language.Problems) {
	all, problems := ReadFiles(fsys, opts)
	if len(problems) > 0 {
		return nil, problems
	}
	return all, nil
}

// source is a file of a show as it was read.
type source struct {
	name string
	src  []byte
	ok   bool // it could be read
}

// sources reads the files of a show, in the order of the folder, and reports those
// that cannot be read.
func sources(fsys fs.FS, opts Options, found *language.Faults) (list []source) {
	l := loader{fsys, found, opts.Instead}
	for _, name := range l.names(opts.RigOnly) {
		if kind, _ := language.KindOf(name); slices.Contains(opts.Without, name) || opts.RigOnly && !ofRig(kind) {
			continue
		}
		src, ok := l.read(name)
		list = append(list, source{name, src, ok})
	}
	return list
}

// ofRig reports whether files of a kind say what a rig is.
func ofRig(kind language.Kind) bool {
	return kind == language.ShowFile || kind == language.RigFile || kind == language.ProfileFile
}

// RigFaults returns the problems without those of looks, songs and sets, and of what
// lies in their folders. That there is no set of the name that was asked for stays.
func RigFaults(problems language.Problems) (list language.Problems) {
	for _, p := range problems {
		first, _, _ := strings.Cut(p.File, "/")
		if p.Asked || first != language.LooksFile.Where() && first != "songs" && first != "sets" {
			list = append(list, p)
		}
	}
	return list
}

type loader struct {
	fsys    fs.FS
	faults  *language.Faults
	instead map[string][]byte
}

// names lists the files of the folder, without those of songs and sets if only the rig
// is wanted, and reports YAML files with names that no file of a show has.
func (l *loader) names(rigOnly bool) []string {
	dirs := []string{".", "profiles", "songs", "sets"}
	if rigOnly {
		dirs = dirs[:2]
	}
	var names []string
	for _, dir := range dirs {
		at, info, ok := l.resolve(dir)
		if !ok {
			continue
		}
		if !info.IsDir() {
			l.fault(dir, "not a folder", language.FolderHas)
			continue
		}
		entries, err := fs.ReadDir(l.fsys, at)
		if err != nil {
			l.fault(dir, "cannot read the folder: "+err.Error(), "")
		}
		for _, e := range entries {
			name := path.Join(dir, e.Name())
			ext := strings.ToLower(path.Ext(name))
			if ext != ".yaml" && ext != ".yml" || strings.HasPrefix(e.Name(), ".") {
				continue
			}
			if _, ok := language.KindOf(name); !ok {
				l.faults.Add(language.Problem{File: name, What: "not a file of a show", Allowed: language.FolderHas, Nearest: l.nearestFileName(name)})
				continue
			}
			names = append(names, name)
		}
	}
	return names
}

// nearestFileName guesses the name that a file should have had.
func (l *loader) nearestFileName(name string) string {
	if path.Dir(name) != "." {
		return strings.TrimSuffix(name, path.Ext(name)) + ".yaml"
	}
	return language.Nearest(name, []string{"show.yaml", "rig.yaml", "looks.yaml"})
}

func (l *loader) fault(name, what, allowed string) {
	l.faults.Add(language.Problem{File: name, What: what, Allowed: allowed})
}

// resolve follows a link once, and only to a place inside the folder. A missing
// folder is no fault here: compiling reports missing files.
func (l *loader) resolve(name string) (at string, info fs.FileInfo, ok bool) {
	info, err := fs.Lstat(l.fsys, name)
	if err == nil && info.Mode()&fs.ModeSymlink == 0 {
		return name, info, true
	}
	if err != nil {
		if !errors.Is(err, fs.ErrNotExist) {
			l.fault(name, "cannot be read: "+err.Error(), "")
		}
		return "", nil, false
	}
	target, err := fs.ReadLink(l.fsys, name)
	at = path.Join(path.Dir(name), filepath.ToSlash(target))
	if err != nil || filepath.IsAbs(target) || !fs.ValidPath(at) {
		l.fault(name, fmt.Sprintf("a link out of the show folder, to %q", language.Shorten(target)), "copy it into the folder")
		return "", nil, false
	}
	info, err = fs.Lstat(l.fsys, at)
	if err != nil || info.Mode()&fs.ModeSymlink != 0 {
		l.fault(name, fmt.Sprintf("a link to %q, where there is no file", language.Shorten(target)), "copy it into the folder")
		return "", nil, false
	}
	return at, info, true
}

// read returns a file's bytes. It opens plain files only: a pipe would never end.
func (l *loader) read(name string) ([]byte, bool) {
	if src, ok := l.instead[name]; ok {
		return src, true
	}
	at, info, ok := l.resolve(name)
	switch {
	case !ok:
		return nil, false
	case !info.Mode().IsRegular():
		l.fault(name, "not a plain file", "")
		return nil, false
	case info.Size() > language.MaxFileBytes:
		l.fault(name, fmt.Sprintf("too large: %d bytes", info.Size()), fmt.Sprintf("at most %d bytes", language.MaxFileBytes))
		return nil, false
	}
	file, err := l.fsys.Open(at)
	if err != nil {
		l.fault(name, "cannot be read: "+err.Error(), "")
		return nil, false
	}
	defer file.Close()
	src, err := io.ReadAll(io.LimitReader(file, language.MaxFileBytes+1))
	if err != nil {
		l.fault(name, "cannot be read: "+err.Error(), "")
		return nil, false
	}
	return src, true
}
