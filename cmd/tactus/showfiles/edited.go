package showfiles

import (
	"io/fs"
	"maps"
	"path"
	"slices"

	"tactus/shows"
	"tactus/shows/draft"
	"tactus/shows/language"
)

// Edited is a show as its folder has it after an edit, except for songs with faults:
// those of the show before stay as they were, and new ones are left out.
type Edited struct {
	Show    *shows.Show       // nil if files other than songs have faults, or the older songs do not fit them
	Songs   map[string][]byte // the source of each song of Show, by file
	Faults  language.Problems // every fault in the folder
	Drafted []string          // song files with faults and drafted lines

	options shows.Options // what of the folder was replaced or left out
}

// LoadEdited loads a show's folder after an edit. songs has the sources of the songs
// before it, by file; see Songs.
func LoadEdited(dir, set string, songs map[string][]byte) *Edited {
	return loadEdited(new(shows.Loader), dir, set, songs)
}

// loadEdited is LoadEdited with the loader of the edits before.
func loadEdited(loader *shows.Loader, dir, set string, songs map[string][]byte) *Edited {
	e := &Edited{Songs: Songs(dir), options: shows.Options{Set: set}}
	if e.Show, e.Faults = load(loader, dir, e.options); e.Show != nil {
		return e
	}
	e.Drafted = drafted(e.Songs, e.Faults)
	e.options = withOlderSongs(set, e.Faults, songs)
	if len(e.options.Instead) == 0 && len(e.options.Without) == 0 {
		return e
	}
	e.Show, _ = load(loader, dir, e.options)
	maps.Copy(e.Songs, e.options.Instead)
	maps.DeleteFunc(e.Songs, func(file string, _ []byte) bool { return slices.Contains(e.options.Without, file) })
	return e
}

// withOlderSongs replaces each song that has faults by its older source, and leaves out
// those that have none.
func withOlderSongs(set string, faults language.Problems, songs map[string][]byte) shows.Options {
	o := shows.Options{Set: set, Instead: map[string][]byte{}}
	for _, p := range faults {
		if path.Dir(p.File) != "songs" {
			continue
		}
		if src, known := songs[p.File]; known {
			o.Instead[p.File] = src
		} else if !slices.Contains(o.Without, p.File) {
			o.Without = append(o.Without, p.File)
		}
	}
	return o
}

// Songs reads the songs of a show, by file. One that cannot be read is missing: loading
// the show reports it.
func Songs(dir string) map[string][]byte {
	files, err := Open(dir)
	if err != nil {
		return map[string][]byte{} // likewise
	}
	return songsIn(files)
}

// songsIn does the same for files that are open.
func songsIn(files fs.FS) map[string][]byte {
	all := map[string][]byte{}
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
func drafted(songs map[string][]byte, faults language.Problems) (list []string) {
	for _, p := range faults {
		if src, ok := songs[p.File]; ok && !slices.Contains(list, p.File) {
			if _, lines := draft.Clear(src); lines > 0 {
				list = append(list, p.File)
			}
		}
	}
	return list
}

func load(loader *shows.Loader, dir string, o shows.Options) (*shows.Show, language.Problems) {
	files, err := Open(dir)
	if err != nil {
		return nil, language.Problems{{File: dir, What: err.Error()}}
	}
	return loader.Load(files, o)
}
