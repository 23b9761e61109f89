package showfiles

import (
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path"
	"reflect"
	"slices"
	"strings"
	"time"

	"tactus/engine"
	"tactus/shows"
	"tactus/shows/language"
)

// Reloader looks at the files of a show while it plays. What it finds is taken
// when two looks in a row saw the same content, so that a file which is being
// written is not; and all of it or nothing.
type Reloader struct {
	dir, set string
	show     *shows.Show     // whose outputs are open
	program  *engine.Program // that plays

	files  map[string]stamp
	seen   content // at the last look
	dealt  content // that has been told of
	played content
}

// content identifies what the files of a show hold.
type content [sha256.Size]byte

// stamp is what is known of a file. Its content is read again while the stamp is
// fresh: some file systems tell times to two seconds.
type stamp struct {
	mode  fs.FileMode
	size  int64
	mod   time.Time
	fresh int // looks left
	sum   content
}

const (
	lookEvery = 500 * time.Millisecond
	freshFor  = 6 // looks: 3 s
)

// NewReloader watches a folder whose show has just been loaded. The demo that is
// built in is not watched: the result is nil.
func NewReloader(dir, set string, show *shows.Show) *Reloader {
	if dir == Demo {
		return nil
	}
	r := &Reloader{dir: dir, set: set, show: show, program: show.Program, files: map[string]stamp{}}
	r.seen = r.content()
	r.dealt, r.played = r.seen, r.seen
	return r
}

// Run looks now and then until ctx ends.
func (r *Reloader) Run(ctx context.Context, take func(*Edit)) {
	tick := time.NewTicker(lookEvery)
	defer tick.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
		}
		if e := r.look(); e != nil {
			take(e)
		}
	}
}

// look returns what came of a change, once for each content; else nil.
func (r *Reloader) look() *Edit {
	now := r.content()
	steady := now == r.seen
	r.seen = now
	if !steady || now == r.dealt {
		return nil
	}
	if now == r.played {
		r.dealt = now
		return &Edit{}
	}
	show, problems := r.load()
	if r.content() != now { // written to while it was read
		return nil
	}
	r.dealt = now
	if len(problems) > 0 {
		return &Edit{Faults: problems}
	}
	if err := SameOutputs(r.show, show); err != nil {
		return &Edit{Restart: err}
	}
	revision, err := engine.NewReload(r.program, show.Program)
	if err != nil {
		return &Edit{Restart: err}
	}
	r.program, r.played = revision.Program(), now
	show.Program = r.program
	return &Edit{Revision: revision, Show: show}
}

func (r *Reloader) load() (*shows.Show, language.Problems) {
	files, err := Open(r.dir)
	if err != nil {
		return nil, language.Problems{{File: r.dir, What: err.Error()}}
	}
	return shows.Load(files, shows.Options{Set: r.set})
}

// SameOutputs refuses what is set up once, at the start.
func SameOutputs(old, to *shows.Show) error {
	var errs []error
	if !reflect.DeepEqual(old.Outputs, to.Outputs) {
		errs = append(errs, fmt.Errorf("%w: universes, where they go or what happens on exit", engine.ErrRestart))
	}
	if old.Clock != to.Clock {
		errs = append(errs, fmt.Errorf("%w: who may lead the tempo", engine.ErrRestart))
	}
	return errors.Join(errs...)
}

// content looks at every YAML file in the folder and in those right below it.
func (r *Reloader) content() content {
	fsys := os.DirFS(r.dir)
	found := map[string]stamp{}
	r.scan(fsys, ".", found)
	r.files = found
	names := make([]string, 0, len(found))
	for name := range found {
		names = append(names, name)
	}
	slices.Sort(names)
	all := sha256.New()
	for _, name := range names {
		f := found[name]
		fmt.Fprintf(all, "%q %v %x\n", name, f.mode.Type(), f.sum)
	}
	return content(all.Sum(nil))
}

func (r *Reloader) scan(fsys fs.FS, dir string, found map[string]stamp) {
	entries, err := fs.ReadDir(fsys, dir)
	if err != nil {
		return // what is missing is reported when it is loaded
	}
	for _, e := range entries {
		name := path.Join(dir, e.Name())
		ext := strings.ToLower(path.Ext(name))
		switch {
		case strings.HasPrefix(e.Name(), "."):
		case e.IsDir() && dir == ".":
			r.scan(fsys, name, found)
		case ext == ".yaml" || ext == ".yml":
			found[name] = r.stamp(fsys, name)
		}
	}
}

// stamp tells what a file holds. It reads it when that may have changed.
func (r *Reloader) stamp(fsys fs.FS, name string) stamp {
	info, err := fs.Stat(fsys, name)
	if err != nil {
		return stamp{}
	}
	now, before := stamp{mode: info.Mode(), size: info.Size(), mod: info.ModTime(), fresh: freshFor}, r.files[name]
	if now.mode == before.mode && now.size == before.size && now.mod.Equal(before.mod) {
		now.fresh, now.sum = max(0, before.fresh-1), before.sum
	}
	if now.fresh == 0 || !now.mode.IsRegular() || now.size > language.MaxFileBytes {
		return now
	}
	f, err := fsys.Open(name)
	if err != nil {
		return now
	}
	defer f.Close()
	h := sha256.New()
	if _, err := io.Copy(h, io.LimitReader(f, language.MaxFileBytes+1)); err == nil {
		now.sum = content(h.Sum(nil))
	}
	return now
}
