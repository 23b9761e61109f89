package resume

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"github.com/gofrs/flock"

	"tactus/cmd/tactus/showfiles"
	"tactus/cmd/tactus/wholefile"
)

// ErrInUse means that another run keeps its state in the same folder.
var ErrInUse = errors.New("another tactus keeps its state here")

// ErrNone means that no state was kept yet.
var ErrNone = errors.New("none is kept yet")

// Folder is where a run keeps its state. One run at a time has it.
type Folder struct {
	dir   string
	lock  *flock.Flock
	files [2]*os.File // nil until something is written
	next  int         // file to write next: the older one
	last  uint64      // number of the latest state
}

// Open makes the folder if it is missing, and keeps it to this run: ErrInUse if another
// has it. The lock ends with the process.
func Open(dir string) (*Folder, error) {
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return nil, err
	}
	f := &Folder{dir: dir, lock: flock.New(filepath.Join(dir, "lock"))}
	locked, err := f.lock.TryLock()
	switch {
	case err != nil:
		return nil, err
	case !locked:
		return nil, fmt.Errorf("%s: %w", dir, ErrInUse)
	}
	return f, nil
}

// Read returns the latest whole state. Errors: ErrNone, ErrDamaged if no file holds a
// whole one, or what the system says.
func (f *Folder) Read() (Saved, error) {
	var latest Saved
	found, fault := false, error(ErrNone)
	for i := range f.files {
		src, err := readUpTo(f.stateName(i), maxStateSize)
		if errors.Is(err, fs.ErrNotExist) {
			continue
		}
		s, number := Saved{}, uint64(0)
		if err == nil {
			s, number, err = parseFile(src)
		}
		if err != nil {
			fault = fmt.Errorf("%s: %w", f.stateName(i), err)
			continue
		}
		if !found || number > f.last {
			latest, found = s, true
			f.last, f.next = number, 1-i
		}
	}
	if !found {
		return Saved{}, fault
	}
	return latest, nil
}

func (f *Folder) stateName(i int) string { return filepath.Join(f.dir, fmt.Sprintf("state.%d", i)) }

// Write puts a state in the place of the older one.
func (f *Folder) Write(s *Saved) error { return f.writeFile(s.appendFile(nil, f.last+1)) }

// writeFile writes a state that has its form as a file.
func (f *Folder) writeFile(b []byte) error {
	file := f.files[f.next]
	if file == nil {
		var err error
		if file, err = os.OpenFile(f.stateName(f.next), os.O_RDWR|os.O_CREATE, 0o644); err != nil {
			return err
		}
		f.files[f.next] = file
	}
	if _, err := file.WriteAt(b, 0); err != nil {
		return err
	}
	f.last++
	f.next = 1 - f.next
	return nil
}

// archiveName names the archive of a show's files by their checksum.
func archiveName(content string) string { return "show-" + content + ".zip" }

// WriteArchive keeps a show's files, whole or not at all, under their checksum.
func (f *Folder) WriteArchive(content string, archive []byte) error {
	name := filepath.Join(f.dir, archiveName(content))
	if info, err := os.Stat(name); err == nil && info.Size() == int64(len(archive)) {
		return nil // the name is its checksum, and it was written whole
	}
	return wholefile.WriteNew(name, archive, true)
}

// DropArchives removes all archives but those of some checksums.
func (f *Folder) DropArchives(but ...string) {
	names, _ := filepath.Glob(filepath.Join(f.dir, "show-*.zip")) // what stays is in nobody's way
	for _, name := range names {
		kept := false
		for _, content := range but {
			kept = kept || filepath.Base(name) == archiveName(content)
		}
		if !kept {
			_ = os.Remove(name) // likewise
		}
	}
}

// ReadArchive returns the files that a state's show was loaded from.
func (f *Folder) ReadArchive(content string) (fs.FS, error) {
	if strings.ContainsAny(content, `/\`) {
		return nil, fmt.Errorf("%w: %q is no checksum of a show", ErrDamaged, content)
	}
	src, err := readUpTo(filepath.Join(f.dir, archiveName(content)), showfiles.MaxArchiveBytes)
	if err != nil {
		return nil, fmt.Errorf("the show's copy: %w", err)
	}
	files, err := showfiles.OpenArchive(src)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", archiveName(content), err)
	}
	if has, err := showfiles.ContentOf(files); err != nil || has != content {
		return nil, fmt.Errorf("%w: %s holds a show with another checksum", ErrDamaged, archiveName(content))
	}
	return files, nil
}

// readUpTo reads a plain file of at most a number of bytes.
func readUpTo(name string, most int64) ([]byte, error) {
	info, err := os.Stat(name)
	switch {
	case err != nil:
		return nil, err
	case !info.Mode().IsRegular() || info.Size() > most:
		return nil, fmt.Errorf("%w: no plain file of at most %d bytes", ErrDamaged, most)
	}
	file, err := os.Open(name)
	if err != nil {
		return nil, err
	}
	defer file.Close()
	return io.ReadAll(io.LimitReader(file, most))
}

// Close gives the folder back.
func (f *Folder) Close() error {
	var errs []error
	for _, file := range f.files {
		if file != nil {
			errs = append(errs, file.Close())
		}
	}
	return errors.Join(append(errs, f.lock.Close())...)
}
