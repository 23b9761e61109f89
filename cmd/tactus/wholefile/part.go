package wholefile

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
)

// Part is a file being written. It lies beside its place under another name, and
// takes its own once everything is on the disk.
type Part struct {
	*os.File
	name string      // in the end
	mode fs.FileMode // in the end
}

// Begin begins a file. One that exists keeps its permissions and, as far as the user may
// give files away, its owner and group. A link to a file of the same folder stays
// one. A link that leads to another folder is refused: who made it may
// mean a file that nobody wants written over. Devices and pipes have no old content to
// keep: they are written as they are.
func Begin(name string) (*Part, error) {
	p := &Part{name: name, mode: 0o644}
	info, err := os.Stat(name)
	switch {
	case errors.Is(err, fs.ErrNotExist):
	case err != nil:
		return nil, err
	case info.IsDir():
		return nil, fmt.Errorf("%s is a folder", name)
	default:
		p.mode = info.Mode()
		if p.name, err = followLink(name); err != nil {
			return nil, err
		}
	}
	if !p.mode.IsRegular() {
		p.File, err = os.OpenFile(p.name, os.O_WRONLY, 0)
		return p, err
	}
	p.File, err = os.CreateTemp(filepath.Dir(p.name), ".tactus-*")
	if fault := (*fs.PathError)(nil); errors.As(err, &fault) {
		err = &fs.PathError{Op: "write", Path: name, Err: fault.Err} // the name that was asked for
	}
	if err == nil && info != nil {
		keepOwner(p.File, info)
	}
	return p, err
}

// ErrLink means that a file to be written is a link to another folder.
var ErrLink = errors.New("a link to another folder, which is not written through")

// followLink returns the file that a name means.
func followLink(name string) (string, error) {
	to, err := filepath.EvalSymlinks(name)
	if err != nil {
		return name, nil // it is opened by this name, with the error that it has
	}
	info, err := os.Stat(to)
	folder, folderErr := filepath.EvalSymlinks(filepath.Dir(name))
	if err == nil && folderErr == nil && info.Mode().IsRegular() && filepath.Dir(to) != folder {
		return "", fmt.Errorf("%s is %w: %s; remove the link or name that file", name, ErrLink, to)
	}
	return to, nil
}

// Keep puts the file in its place; after an error it is dropped.
func (p *Part) Keep() error {
	if !p.mode.IsRegular() {
		return p.Close()
	}
	err := errors.Join(p.Chmod(p.mode.Perm()), p.Sync(), p.Close())
	if err == nil {
		err = os.Rename(p.File.Name(), p.name)
	}
	if err != nil {
		os.Remove(p.File.Name())
	}
	return err
}

// Drop takes the part away again. After keep it does nothing.
func (p *Part) Drop() {
	if p.Close() == nil && p.mode.IsRegular() {
		os.Remove(p.File.Name())
	}
}

// Write writes a file that appears whole or not at all: after an error of
// write, or when ctx ends before the end, there is what was there before.
func Write(ctx context.Context, name string, write func(io.Writer) error) error {
	p, err := Begin(name)
	if err != nil {
		return err
	}
	defer p.Drop()
	if err := write(interruptible{ctx, p}); err != nil {
		return err
	}
	if ctx.Err() != nil {
		return fmt.Errorf("%w: %s was not written", ErrInterrupted, name)
	}
	return p.Keep()
}

// ErrInterrupted means that a signal ended the work.
var ErrInterrupted = errors.New("interrupted")

// interruptible is a writer that refuses to write once a context has ended.
type interruptible struct {
	ctx context.Context
	to  io.Writer
}

func (w interruptible) Write(b []byte) (int, error) {
	if w.ctx.Err() != nil {
		return 0, ErrInterrupted
	}
	return w.to.Write(b)
}

// CheckNew returns an error that lists those of the files that exist already, or that
// cannot be looked for; with force none is looked for. Folders, devices and
// pipes, which are not written over, and the name "" do not count. A command calls it before its work, so
// that it writes all of its files or none.
func CheckNew(force bool, names ...string) error {
	if force {
		return nil
	}
	var there []string
	for _, name := range names {
		if name == "" {
			continue
		}
		info, err := os.Stat(name)
		if errors.Is(err, fs.ErrNotExist) {
			info, err = os.Lstat(name) // a link to a file that is missing
		}
		switch {
		case errors.Is(err, fs.ErrNotExist):
		case err != nil:
			return err
		case info.Mode().IsRegular() || info.Mode().Type() == fs.ModeSymlink:
			there = append(there, name)
		}
	}
	switch len(there) {
	case 0:
		return nil
	case 1:
		return fmt.Errorf("%s exists; --force writes over it", there[0])
	}
	return fmt.Errorf("these files exist; --force writes over them: %s", strings.Join(there, ", "))
}

// WriteNew writes a file that is not there yet, or any with force, and makes its
// folder. It appears whole or not at all.
func WriteNew(name string, src []byte, force bool) error {
	if err := CheckNew(force, name); err != nil {
		return err
	}
	if err := os.MkdirAll(filepath.Dir(name), 0o755); err != nil {
		return err
	}
	return Write(context.Background(), name, Bytes(src))
}

// WriteSecret writes a file that only its owner may read, also where one with other
// permissions was before, and makes its folder likewise.
func WriteSecret(name string, src []byte) error {
	if err := os.MkdirAll(filepath.Dir(name), 0o700); err != nil {
		return err
	}
	p, err := Begin(name)
	if err != nil {
		return err
	}
	defer p.Drop()
	if p.mode.IsRegular() {
		p.mode = 0o600
	}
	if _, err := p.Write(src); err != nil {
		return err
	}
	return p.Keep()
}

// Bytes is what Write writes a whole file with.
func Bytes(src []byte) func(io.Writer) error {
	return func(w io.Writer) error {
		_, err := w.Write(src)
		return err
	}
}
