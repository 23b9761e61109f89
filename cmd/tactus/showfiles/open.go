package showfiles

import (
	"errors"
	"fmt"
	"io/fs"
	"os"

	"tactus/shows"
)

// Demo is the SHOW that is built in.
const Demo = "demo"

// Open returns the files of a show.
func Open(name string) (fs.FS, error) {
	if name == Demo {
		return shows.Demo(), nil
	}
	info, err := os.Stat(name)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, fmt.Errorf("no folder %q; 'tactus new %s' makes one, and %q is the show that is built in", name, name, Demo)
	case err != nil:
		return nil, err
	case !info.IsDir():
		return nil, fmt.Errorf("%q is a file; a show is a folder with show.yaml, rig.yaml, looks.yaml, songs and sets", name)
	}
	return shows.Open(name)
}
