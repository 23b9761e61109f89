package sacn

import (
	"crypto/rand"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
)

// LoadCID returns the component identifier of this installation (5.6), kept as
// a UUID in the text file at path. A missing file is made, with a new random
// UUID, whole or not at all.
//
// When the file cannot be read, written or understood, LoadCID returns an
// error and still a random identifier, good for this run: receivers then see a
// new source after each start. It does not write over a file that it does not
// understand.
func LoadCID(path string) ([16]byte, error) {
	text, err := os.ReadFile(path)
	if err == nil {
		if cid, ok := parseUUID(strings.TrimSpace(string(text))); ok {
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

// NewCID makes a random identifier, for a run that has none of its own: a UUID, version 4 (RFC 4122, 4.4).
func NewCID() [16]byte {
	var id [16]byte
	rand.Read(id[:]) // never fails: crypto/rand
	id[6] = id[6]&0x0f | 0x40
	id[8] = id[8]&0x3f | 0x80
	return id
}

// createCID writes a temporary file and renames it to path, so that a crash or
// a full disk leaves either nothing or a whole identifier.
func createCID(path string, cid [16]byte) error {
	dir := filepath.Dir(path)
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return err
	}
	f, err := os.CreateTemp(dir, ".cid-*")
	if err != nil {
		return err
	}
	_, err = fmt.Fprintln(f, FormatCID(cid))
	err = errors.Join(err, f.Sync(), f.Close())
	if err == nil {
		err = os.Rename(f.Name(), path)
	}
	if err != nil {
		os.Remove(f.Name())
	}
	return err
}

// FormatCID prints a CID as a UUID (RFC 4122, 3).
func FormatCID(cid [16]byte) string {
	h := hex.EncodeToString(cid[:])
	return h[:8] + "-" + h[8:12] + "-" + h[12:16] + "-" + h[16:20] + "-" + h[20:]
}

// parseUUID reads the form that FormatCID prints; the nil UUID is refused.
func parseUUID(s string) (id [16]byte, ok bool) {
	if len(s) != 36 || s[8] != '-' || s[13] != '-' || s[18] != '-' || s[23] != '-' {
		return id, false
	}
	n, err := hex.Decode(id[:], []byte(strings.ReplaceAll(s, "-", "")))
	return id, err == nil && n == len(id) && id != [16]byte{}
}
