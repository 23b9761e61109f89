package showfiles

import (
	"tactus/cmd/tactus/wholefile"
	"tactus/shows"
	"tactus/shows/compose"
)

// Compose opens a show for edits, by its name on the command line; set chooses the set
// list, as in shows.Options. The demo can be edited, and not be saved. Errors are those of
// Open.
func Compose(name, set string) (*compose.Session, error) {
	if _, err := Open(name); err != nil {
		return nil, err
	}
	if name == Demo {
		return compose.Open("", compose.Options{Set: set, Files: shows.Demo()})
	}
	return compose.Open(name, compose.Options{Set: set, Write: writeTogether})
}

func writeTogether(list []compose.Written) error {
	var files []wholefile.File
	for _, w := range list {
		files = append(files, wholefile.File{Name: w.Path, Source: w.Source, Remove: w.Remove})
	}
	return wholefile.WriteTogether(files)
}
