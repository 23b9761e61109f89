package shows

import (
	"fmt"
	"io"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"strings"
)

// Options choose what is loaded.
type Options struct {
	// Set is the set list, by its name or its file name without .yaml; the
	// first in file order when empty.
	Set string
}

const folderHas = "a show folder has show.yaml, rig.yaml, looks.yaml, songs/*.yaml and sets/*.yaml"

// Open returns the show folder as a file system out of which no link leads.
func Open(dir string) (fs.FS, error) {
	root, err := os.OpenRoot(dir)
	if err != nil {
		return nil, fmt.Errorf("show folder: %w", err)
	}
	return root.FS(), nil
}

// Load reads a show folder, checks all of it and compiles it. With any problem
// the show is nil.
func Load(fsys fs.FS, opts Options) (*Show, Problems) {
	var found faults
	var files []*File
	l := loader{fsys, &found}
	for _, name := range l.names() {
		src, ok := l.read(name)
		if !ok {
			kind, _ := KindOf(name)
			files = append(files, &File{Name: name, Kind: kind})
			continue
		}
		f, problems := Parse(name, src)
		for _, p := range problems {
			found.add(p)
		}
		files = append(files, f)
	}
	show, problems := Compile(files, opts)
	for _, p := range problems {
		found.add(p)
	}
	if len(found.list) > 0 {
		return nil, found.list.sorted()
	}
	return show, nil
}

type loader struct {
	fsys   fs.FS
	faults *faults
}

// names lists the files of the folder and reports those that look as if they
// were meant to be files of a show but are not.
func (l *loader) names() []string {
	var names []string
	for _, dir := range []string{".", "songs", "sets"} {
		entries, err := fs.ReadDir(l.fsys, dir)
		if err != nil {
			if dir == "." || !isMissing(err) {
				l.faults.add(Problem{File: dir, What: "cannot read the folder: " + err.Error(), Allowed: folderHas})
			}
			continue
		}
		for _, e := range entries {
			name := path.Join(dir, e.Name())
			ext := strings.ToLower(path.Ext(name))
			if ext != ".yaml" && ext != ".yml" || strings.HasPrefix(e.Name(), ".") {
				continue
			}
			if _, ok := KindOf(name); !ok {
				l.faults.add(Problem{File: name, What: "not a file of a show", Allowed: folderHas,
					Nearest: nearest(name, []string{"show.yaml", "rig.yaml", "looks.yaml", strings.TrimSuffix(name, path.Ext(name)) + ".yaml"})})
				continue
			}
			names = append(names, name)
		}
	}
	return names
}

func isMissing(err error) bool { return strings.Contains(err.Error(), fs.ErrNotExist.Error()) }

// read returns a file's bytes. It opens regular files only, and follows a link
// only when it leads to one inside the folder.
func (l *loader) read(name string) ([]byte, bool) {
	fault := func(what, allowed string) ([]byte, bool) {
		l.faults.add(Problem{File: name, What: what, Allowed: allowed})
		return nil, false
	}
	at := name
	info, err := fs.Lstat(l.fsys, at)
	if err == nil && info.Mode()&fs.ModeSymlink != 0 {
		target, err := fs.ReadLink(l.fsys, at)
		at = path.Join(path.Dir(name), filepath.ToSlash(target))
		if err != nil || filepath.IsAbs(target) || !fs.ValidPath(at) {
			return fault(fmt.Sprintf("a link out of the show folder, to %q", shorten(target)), "copy the file into the folder")
		}
		if info, err = fs.Lstat(l.fsys, at); err != nil {
			return fault(fmt.Sprintf("a link to %q, which is not there", shorten(target)), "")
		}
	}
	switch {
	case err != nil:
		return fault("cannot read the file: "+err.Error(), "")
	case !info.Mode().IsRegular():
		return fault("not a plain file", "")
	case info.Size() > MaxFileBytes:
		return fault(fmt.Sprintf("too large: %d bytes", info.Size()), fmt.Sprintf("at most %d bytes", MaxFileBytes))
	}
	file, err := l.fsys.Open(at)
	if err != nil {
		return fault("cannot read the file: "+err.Error(), "")
	}
	defer file.Close()
	src, err := io.ReadAll(io.LimitReader(file, MaxFileBytes+1))
	if err != nil {
		return fault("cannot read the file: "+err.Error(), "")
	}
	return src, true
}
