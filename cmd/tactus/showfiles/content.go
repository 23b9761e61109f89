package showfiles

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io/fs"
	"path"

	"tactus/shows/language"
)

// Content returns the SHA-256 of a show's files, names and all, in hex. Files
// too large for a show are no part of one.
func Content(name string) (string, error) {
	files, err := Open(name)
	if err != nil {
		return "", err
	}
	sum := sha256.New()
	err = fs.WalkDir(files, ".", func(at string, d fs.DirEntry, err error) error {
		if err != nil || !d.Type().IsRegular() || path.Ext(at) != ".yaml" {
			return err
		}
		if info, err := d.Info(); err != nil || info.Size() > language.MaxFileBytes {
			return err
		}
		src, err := fs.ReadFile(files, at)
		fmt.Fprintf(sum, "%q %d\n", at, len(src))
		sum.Write(src)
		return err
	})
	return hex.EncodeToString(sum.Sum(nil)), err
}
