package showfiles

import (
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"hash"
	"io/fs"
	"os"
	"path"
	"reflect"
	"slices"
	"strings"
	"sync"
	"time"

	"tactus/engine"
	"tactus/shows"
	"tactus/shows/language"
)

// Reloader looks for changes in the files of a show while it plays. A change counts
// once two reads in a row find the same content, so that a half-written file is not
// used. It takes effect as a whole or not at all, except for songs: a song with faults
// stays as it was, and a new one with faults is left out.
type Reloader struct {
	dir, set string
	show     *shows.Show // the show that the open outputs belong to
	loader   *shows.Loader

	instead func(load func() *Edited) *Edit // see Instead; or nil

	mu      sync.Mutex      // for program, which Replace changes
	program *engine.Program // the program that plays

	seen     content           // content at the last read
	reported content           // content of the last edit that was reported
	playing  content           // content of the program that plays: with the songs that stay as they were
	songs    map[string][]byte // the source of each song that plays, by file
}

// content identifies what the files of a show hold.
type content [sha256.Size]byte

// lookEvery is the time between two reads.
const lookEvery = 500 * time.Millisecond

// NewReloader watches the folder of a show that has just been loaded. The built-in demo
// is not watched: the result is nil.
func NewReloader(dir, set string, show *shows.Show) *Reloader {
	if dir == Demo {
		return nil
	}
	r := &Reloader{dir: dir, set: set, show: show, loader: shows.LoaderOf(show), program: show.Program}
	r.seen = r.content(shows.Options{})
	r.reported, r.playing = r.seen, r.seen
	r.songs = Songs(dir)
	return r
}

// PlaysFrom says that the show was loaded from other files than those in its folder, such
// as an archive of them. What differs in the folder counts as an edit. A nil reloader
// needs nothing.
func (r *Reloader) PlaysFrom(files fs.FS) {
	if r == nil {
		return
	}
	r.playing = contentOf(files, shows.Options{})
	r.reported, r.songs = r.playing, songsIn(files)
}

// Replace says that another program plays than the folder's: the next change of the
// folder is an edit of that one. A nil reloader needs nothing.
func (r *Reloader) Replace(program *engine.Program) {
	if r == nil {
		return
	}
	r.mu.Lock()
	defer r.mu.Unlock()
	r.program, r.playing = program, content{}
}

// Instead has f take over each change of the folder, and say what came of it. The folder is
// then not loaded here. f may call load, before it returns, to load the folder with older
// sources for songs that have faults. Instead is called before Run.
func (r *Reloader) Instead(f func(load func() *Edited) *Edit) { r.instead = f }

// Run calls found with the result of each change, until ctx ends.
func (r *Reloader) Run(ctx context.Context, found func(*Edit)) {
	tick := time.NewTicker(lookEvery)
	defer tick.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
		}
		if e := r.check(); e != nil {
			found(e)
		}
	}
}

// check returns what came of a change, once for each content; nil: nothing to report.
func (r *Reloader) check() *Edit {
	now := r.content(shows.Options{})
	steady := now == r.seen
	r.seen = now
	if !steady || now == r.reported {
		return nil
	}
	if r.instead != nil {
		r.reported = now
		return r.instead(r.loadAfterEdit)
	}
	if now == r.playing {
		r.reported = now
		return &Edit{}
	}
	e := loadEdited(r.loader, r.dir, r.set, r.songs)
	loaded := r.content(e.options)
	archive, sum := r.archive(e.options)
	if r.content(shows.Options{}) != now { // written to while it was read
		return nil
	}
	r.reported = now
	if e.Show == nil || loaded == r.playing {
		return &Edit{Faults: e.Faults, Drafted: e.Drafted}
	}
	if err := SameOutputs(r.show, e.Show); err != nil {
		return &Edit{Restart: err}
	}
	r.mu.Lock()
	defer r.mu.Unlock()
	reload, err := engine.NewReload(r.program, e.Show.Program)
	if err != nil {
		return &Edit{Restart: err}
	}
	r.program, r.playing, r.songs = reload.Program(), loaded, e.Songs
	e.Show.Program = r.program
	return &Edit{Reload: reload, Show: e.Show, SongFaults: e.Faults, Drafted: e.Drafted, Archive: archive, Content: sum}
}

// loadAfterEdit loads the folder, and keeps the sources of songs without faults for the
// next time.
func (r *Reloader) loadAfterEdit() *Edited {
	e := loadEdited(r.loader, r.dir, r.set, r.songs)
	if e.Show != nil {
		r.songs = e.Songs
	}
	return e
}

// archive packs the files that an edited show was loaded from, and returns their
// checksum; nil if they are too large.
func (r *Reloader) archive(o shows.Options) ([]byte, string) {
	files, err := Open(r.dir)
	if err != nil {
		return nil, ""
	}
	archive, err := Archive(files, o)
	if err != nil {
		return nil, ""
	}
	if files, err = OpenArchive(archive); err != nil {
		return nil, ""
	}
	sum, err := ContentOf(files)
	if err != nil {
		return nil, ""
	}
	return archive, sum
}

// SameOutputs refuses a change of what is set up once, at the start: outputs, and who
// leads the tempo.
func SameOutputs(old, to *shows.Show) error {
	var errs []error
	if !reflect.DeepEqual(old.Outputs, to.Outputs) {
		errs = append(errs, fmt.Errorf("%w: universes, where they go or what happens on exit", engine.ErrRestart))
	}
	return errors.Join(append(errs, SameClock(old, to))...)
}

// SameClock refuses a change of who may lead the tempo, which is set up at the start.
func SameClock(old, to *shows.Show) error {
	if old.Clock != to.Clock {
		return fmt.Errorf("%w: who may lead the tempo", engine.ErrRestart)
	}
	return nil
}

// content identifies what the show's folder has: see contentOf.
func (r *Reloader) content(o shows.Options) content { return contentOf(os.DirFS(r.dir), o) }

// contentOf reads every YAML file in a folder and in those right below it, with the
// files that o replaces, and without those that it leaves out.
func contentOf(fsys fs.FS, o shows.Options) content {
	all := sha256.New()
	for _, pattern := range []string{"*", "*/*"} {
		names, _ := fs.Glob(fsys, pattern) // a folder that cannot be read is reported by loading it
		for _, name := range names {
			ext := strings.ToLower(path.Ext(name))
			hidden := strings.HasPrefix(name, ".") || strings.HasPrefix(path.Base(name), ".")
			if hidden || ext != ".yaml" && ext != ".yml" || slices.Contains(o.Without, name) {
				continue
			}
			if src, ok := o.Instead[name]; ok {
				addFile(all, name, 0, int64(len(src)), src)
				continue
			}
			info, err := fs.Stat(fsys, name)
			if err != nil || info.IsDir() {
				continue
			}
			var src []byte
			if info.Mode().IsRegular() && info.Size() <= language.MaxFileBytes {
				src, _ = fs.ReadFile(fsys, name) // likewise
			}
			addFile(all, name, info.Mode().Type(), info.Size(), src)
		}
	}
	return content(all.Sum(nil))
}

// addFile adds a file to a checksum of files.
func addFile(sum hash.Hash, name string, kind fs.FileMode, size int64, src []byte) {
	fmt.Fprintf(sum, "%q %v %d\n", name, kind, size)
	sum.Write(src)
}
