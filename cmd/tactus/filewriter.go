package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
)

// part is a file on its way: it lies beside the one that it is to be, and takes
// its name once everything is on the disk. Until then what was there stays.
type part struct {
	*os.File
	name string      // that it is to have
	mode fs.FileMode // likewise
}

// newPart begins a file. One that exists keeps its permissions, and a link stays
// one. Devices and pipes have no old content to keep: they are written as they are.
func newPart(name string) (*part, error) {
	p := &part{name: name, mode: 0o644}
	info, err := os.Stat(name)
	switch {
	case errors.Is(err, fs.ErrNotExist):
	case err != nil:
		return nil, err
	case info.IsDir():
		return nil, fmt.Errorf("%s is a folder", name)
	default:
		p.mode = info.Mode()
		if to, err := filepath.EvalSymlinks(name); err == nil {
			p.name = to
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
	return p, err
}

// keep puts the file in its place; after an error it is dropped.
func (p *part) keep() error {
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

// drop takes the part away again. After keep it does nothing.
func (p *part) drop() {
	if p.Close() == nil && p.mode.IsRegular() {
		os.Remove(p.File.Name())
	}
}

// writeFile writes a file that appears whole or not at all: after an error of
// write, or when ctx ends before the end, there is what was there before.
func writeFile(ctx context.Context, name string, write func(io.Writer) error) error {
	p, err := newPart(name)
	if err != nil {
		return err
	}
	defer p.drop()
	if err := write(heeding{ctx, p}); err != nil {
		return err
	}
	if ctx.Err() != nil {
		return notWritten(name)
	}
	return p.keep()
}

// errBroken is how a work ends that a signal broke off.
var errBroken = errors.New("broken off")

func notWritten(name string) error { return fmt.Errorf("%w: %s was not written", errBroken, name) }

// heeding is a writer that ends with a context.
type heeding struct {
	ctx context.Context
	to  io.Writer
}

func (w heeding) Write(b []byte) (int, error) {
	if w.ctx.Err() != nil {
		return 0, errBroken
	}
	return w.to.Write(b)
}

// heedingReader is a reader that ends with a context.
type heedingReader struct {
	ctx  context.Context
	from io.Reader
}

func (r heedingReader) Read(b []byte) (int, error) {
	n, err := r.from.Read(b)
	if r.ctx.Err() != nil {
		return 0, errBroken
	}
	return n, err
}

// writeNew writes a file that is not there yet, or any with force, and the
// folder that it is in. It appears whole or not at all.
func writeNew(name string, src []byte, force bool) error {
	if _, err := os.Lstat(name); err == nil && !force {
		return fmt.Errorf("%s exists; --force writes over it", name)
	} else if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	if err := os.Mkdir(filepath.Dir(name), 0o755); err != nil && !errors.Is(err, fs.ErrExist) {
		return err
	}
	return writeFile(context.Background(), name, func(w io.Writer) error {
		_, err := w.Write(src)
		return err
	})
}
