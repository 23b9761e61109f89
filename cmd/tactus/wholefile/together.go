package wholefile

import (
	"errors"
	"os"
	"path/filepath"
)

// File is one of several files that are written together.
type File struct {
	Name   string
	Source []byte
	Remove bool // it goes away instead; one that is missing already is no error
}

// WriteTogether writes files, each whole or not at all, and makes their folders. All are
// on the disk under other names before the first gets its own: a full disk, or a folder
// that cannot be written, leaves every file as it was. Files are removed last.
func WriteTogether(files []File) error {
	var parts []*Part
	defer func() {
		for _, p := range parts {
			p.Drop()
		}
	}()
	for _, f := range files {
		if f.Remove {
			continue
		}
		if err := os.MkdirAll(filepath.Dir(f.Name), 0o755); err != nil {
			return err
		}
		p, err := Begin(f.Name)
		if err != nil {
			return err
		}
		parts = append(parts, p)
		if _, err := p.Write(f.Source); err != nil {
			return &os.PathError{Op: "write", Path: f.Name, Err: cause(err)}
		}
		if p.mode.IsRegular() {
			if err := p.Sync(); err != nil {
				return &os.PathError{Op: "write", Path: f.Name, Err: cause(err)}
			}
		}
	}
	for _, p := range parts {
		if err := p.Keep(); err != nil {
			return err
		}
	}
	for _, f := range files {
		if f.Remove {
			if err := os.Remove(f.Name); err != nil && !errors.Is(err, os.ErrNotExist) {
				return err
			}
		}
	}
	return nil
}

// cause returns the system's error without the name of the temporary file, which would tell
// the user nothing.
func cause(err error) error {
	if fault := (*os.PathError)(nil); errors.As(err, &fault) {
		return fault.Err
	}
	return err
}
