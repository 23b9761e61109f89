package sacn

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"github.com/google/uuid"
)

// LoadCID returns the component identifier of this installation (5.6), stored as a
// UUID in the text file at path. It creates a missing file with a new random UUID.
//
// When the file cannot be read, written or parsed, LoadCID returns an error and a
// random identifier, which is valid for this run: receivers then see a new source
// after each start. It does not overwrite a file that it cannot parse.
func LoadCID(path string) ([16]byte, error) {
	text, err := os.ReadFile(path)
	if err == nil {
		if cid, err := uuid.Parse(strings.TrimSpace(string(text))); err == nil && cid != uuid.Nil {
			return cid, nil
		}
		return NewCID(), fmt.Errorf("sacn: %s does not hold a UUID; delete it to have a new one made", path)
	}
	cid := NewCID()
	if !errors.Is(err, fs.ErrNotExist) {
		return cid, fmt.Errorf("sacn: reading the source's identifier: %w", err)
	}
	if err := createCID(path, cid); err != nil {
		return cid, fmt.Errorf("sacn: keeping the source's identifier: %w", err)
	}
	return cid, nil
}

// NewCID returns a random identifier, a UUID of version 4 (RFC 4122, 4.4).
func NewCID() [16]byte { return uuid.New() }

// createCID writes a temporary file and renames it to path, so that a crash or a
// full disk leaves no partial file.
func createCID(path string, cid [16]byte) error {
	dir := filepath.Dir(path)
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return err
	}
	f, err := os.CreateTemp(dir, ".cid-*")
	if err != nil {
		return err
	}
	_, err = fmt.Fprintln(f, uuid.UUID(cid))
	err = errors.Join(err, f.Sync(), f.Close())
	if err == nil {
		err = os.Rename(f.Name(), path)
	}
	if err != nil {
		os.Remove(f.Name())
	}
	return err
}
