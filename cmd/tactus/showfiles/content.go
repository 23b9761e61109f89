package showfiles

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io/fs"
	"maps"
	"path"
	"slices"
	"strings"

	"tactus/shows/language"
)

// Content returns the SHA-256 of a show's files, names and all, in hex. Files
// too large for a show are no part of one.
func Content(name string) (string, error) {
	files, err := Open(name)
	if err != nil {
		return "", err
	}
	return ContentOf(files)
}

// ContentOf returns the same as Content, of files that are open.
func ContentOf(files fs.FS) (string, error) {
	sources := map[string][]byte{}
	err := fs.WalkDir(files, ".", func(at string, d fs.DirEntry, err error) error {
		if err != nil || !d.Type().IsRegular() || path.Ext(at) != ".yaml" {
			return err
		}
		if info, err := d.Info(); err != nil || info.Size() > language.MaxFileBytes {
			return err
		}
		sources[at], err = fs.ReadFile(files, at)
		return err
	})
	return contentOfSources(sources), err
}

// contentOfSources returns the same as Content, of files by name. They count in the
// order in which a folder is walked.
func contentOfSources(sources map[string][]byte) string {
	sum := sha256.New()
	names := slices.SortedFunc(maps.Keys(sources), func(a, b string) int {
		return slices.Compare(strings.Split(a, "/"), strings.Split(b, "/"))
	})
	for _, name := range names {
		fmt.Fprintf(sum, "%q %d\n", name, len(sources[name]))
		sum.Write(sources[name])
	}
	return hex.EncodeToString(sum.Sum(nil))
}
