package showfiles

import (
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"path"
	"reflect"
	"slices"
	"strings"
	"time"

	"tactus/engine"
	"tactus/shows"
	"tactus/shows/draft"
	"tactus/shows/language"
)

// Reloader looks for changes in the files of a show while it plays. A change counts
// once two reads in a row find the same content, so that a half-written file is not
// used. It takes effect as a whole or not at all, except for songs: a song with faults
// stays as it was, and a new one with faults is left out.
type Reloader struct {
	dir, set string
	show     *shows.Show     // the show that the open outputs belong to
	program  *engine.Program // the program that plays

	seen     content           // content at the last read
	reported content           // content of the last edit that was reported
	playing  content           // content of the program that plays; zero if some songs stay as they were
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
	r := &Reloader{dir: dir, set: set, show: show, program: show.Program}
	r.seen = r.content()
	r.reported, r.playing = r.seen, r.seen
	r.songs = r.sources()
	return r
}

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
	now := r.content()
	steady := now == r.seen
	r.seen = now
	if !steady || now == r.reported {
		return nil
	}
	if now == r.playing {
		r.reported = now
		return &Edit{}
	}
	show, problems := r.load(shows.Options{Set: r.set})
	sources, behind := r.sources(), false
	var faults language.Problems
	if len(problems) > 0 {
		if older, o := r.loadBehind(problems); older != nil {
			show, problems, faults, behind = older, nil, problems, true
			maps.Copy(sources, o.Instead)
			maps.DeleteFunc(sources, func(file string, _ []byte) bool { return slices.Contains(o.Without, file) })
		}
	}
	if r.content() != now { // written to while it was read
		return nil
	}
	r.reported = now
	if len(problems) > 0 {
		return &Edit{Faults: problems, Drafted: r.drafted(problems)}
	}
	if err := SameOutputs(r.show, show); err != nil {
		return &Edit{Restart: err}
	}
	revision, err := engine.NewReload(r.program, show.Program)
	if err != nil {
		return &Edit{Restart: err}
	}
	r.program, r.playing, r.songs = revision.Program(), now, sources
	if behind {
		r.playing = content{}
	}
	show.Program = r.program
	return &Edit{Reload: revision, Show: show, Behind: faults, Drafted: r.drafted(faults)}
}

// loadBehind loads the show with each song that has faults as it plays, without those
// that are new. The result is nil if there are faults elsewhere too, or the songs as
// they play do not fit the other files.
func (r *Reloader) loadBehind(problems language.Problems) (show *shows.Show, o shows.Options) {
	o = shows.Options{Set: r.set, Instead: map[string][]byte{}}
	for _, p := range problems {
		if path.Dir(p.File) != "songs" {
			continue
		}
		if src, plays := r.songs[p.File]; plays {
			o.Instead[p.File] = src
		} else if !slices.Contains(o.Without, p.File) {
			o.Without = append(o.Without, p.File)
		}
	}
	if len(o.Instead) == 0 && len(o.Without) == 0 {
		return nil, o
	}
	show, left := r.load(o)
	if len(left) > 0 {
		return nil, o
	}
	return show, o
}

// sources reads the songs.
func (r *Reloader) sources() map[string][]byte {
	all := map[string][]byte{}
	files, err := Open(r.dir)
	if err != nil {
		return all // loading reports it
	}
	names, _ := fs.Glob(files, "songs/*.yaml") // likewise
	for _, name := range names {
		info, err := fs.Stat(files, name)
		if err != nil || !info.Mode().IsRegular() || info.Size() > language.MaxFileBytes {
			continue
		}
		if src, err := fs.ReadFile(files, name); err == nil {
			all[name] = src
		}
	}
	return all
}

// drafted lists the song files with faults that have drafted lines.
func (r *Reloader) drafted(problems language.Problems) (list []string) {
	sources := r.sources()
	for _, p := range problems {
		if src, ok := sources[p.File]; ok && !slices.Contains(list, p.File) {
			if _, lines := draft.Clear(src); lines > 0 {
				list = append(list, p.File)
			}
		}
	}
	return list
}

func (r *Reloader) load(o shows.Options) (*shows.Show, language.Problems) {
	files, err := Open(r.dir)
	if err != nil {
		return nil, language.Problems{{File: r.dir, What: err.Error()}}
	}
	return shows.Load(files, o)
}

// SameOutputs refuses a change of what is set up once, at the start: outputs, and who
// leads the tempo.
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

// content reads every YAML file in the folder and in those right below it.
func (r *Reloader) content() content {
	all, fsys := sha256.New(), os.DirFS(r.dir)
	for _, pattern := range []string{"*", "*/*"} {
		names, _ := fs.Glob(fsys, pattern) // a folder that cannot be read is reported by loading it
		for _, name := range names {
			ext := strings.ToLower(path.Ext(name))
			hidden := strings.HasPrefix(name, ".") || strings.HasPrefix(path.Base(name), ".")
			info, err := fs.Stat(fsys, name)
			if hidden || ext != ".yaml" && ext != ".yml" || err != nil || info.IsDir() {
				continue
			}
			fmt.Fprintf(all, "%q %v %d\n", name, info.Mode().Type(), info.Size())
			if info.Mode().IsRegular() && info.Size() <= language.MaxFileBytes {
				src, _ := fs.ReadFile(fsys, name) // likewise
				all.Write(src)
			}
		}
	}
	return content(all.Sum(nil))
}
