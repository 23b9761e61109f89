package pairing

import (
	"crypto/hkdf"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base32"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"strings"

	"tactus/cmd/tactus/wholefile"
)

// Errors of keys.
var (
	ErrKey   = errors.New("not a pairing key")
	ErrNoKey = errors.New("this computer has no pairing key yet")
)

const (
	keyBytes   = 20 // 160 bits: 32 characters, in eight groups of four
	group      = 4
	maxKeyFile = 256 // bytes
)

// Key is the secret that two computers share.
type Key struct{ secret [keyBytes]byte }

// NewKey makes a random key.
func NewKey() Key {
	var k Key
	_, _ = rand.Read(k.secret[:]) // never fails (crypto/rand)
	return k
}

// Text returns the key as people type it: 32 letters and digits in groups of four.
// It is not called String, so that nothing prints a key by accident.
func (k Key) Text() string {
	all := base32.StdEncoding.EncodeToString(k.secret[:])
	var groups []string
	for ; all != ""; all = all[group:] {
		groups = append(groups, all[:group])
	}
	return strings.Join(groups, "-")
}

// String hides the key.
func (k Key) String() string { return "(a pairing key)" }

// ParseKey reads what Text returns. Case, spaces and hyphens do not count; 0, 1 and 8,
// which no key has, are read as O, I and B. Errors: ErrKey.
func ParseKey(text string) (Key, error) {
	plain := strings.NewReplacer("-", "", " ", "", "\t", "", "\r", "", "\n", "", "0", "O", "1", "I", "8", "B").Replace(strings.ToUpper(text))
	const want = keyBytes * 8 / 5
	if len(plain) != want {
		return Key{}, fmt.Errorf("%w: it has %d letters and digits, need %d", ErrKey, len(plain), want)
	}
	secret, err := base32.StdEncoding.DecodeString(plain)
	if err != nil {
		return Key{}, fmt.Errorf("%w: only letters and the digits 2 to 7 are in one", ErrKey)
	}
	return Key{[keyBytes]byte(secret)}, nil
}

// CheckMark returns eight characters by which people compare the keys of two
// computers. They do not tell what the key is.
func (k Key) CheckMark() string {
	sum := k.derive("tactus pairing check mark", 4)
	text := hex.EncodeToString(sum)
	return text[:4] + " " + text[4:]
}

// derive returns n bytes, at most 32, that nobody can compute without the key.
func (k Key) derive(purpose string, n int) []byte {
	b, err := hkdf.Key(sha256.New, k.secret[:], nil, purpose, n)
	if err != nil {
		panic(err) // only for lengths that no caller asks for
	}
	return b
}

// Path returns the file of the key in a state folder; "" is the user's configuration
// folder.
func Path(state string) (string, error) {
	if state == "" {
		config, err := os.UserConfigDir()
		if err != nil {
			return "", fmt.Errorf("nowhere to keep the pairing key: %w; --state names a folder", err)
		}
		state = filepath.Join(config, "tactus")
	}
	return filepath.Join(state, "pairing-key"), nil
}

// Load reads the key of this computer. Errors: ErrNoKey without one, ErrKey for a
// file that is not a key or that other users of this computer may read.
func Load(state string) (Key, error) {
	path, err := Path(state)
	if err != nil {
		return Key{}, err
	}
	info, err := os.Stat(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return Key{}, fmt.Errorf("%w: make one with \"tactus pair\", or bring that of the other computer with \"tactus pair --enter\"", ErrNoKey)
	case err != nil:
		return Key{}, err
	case !info.Mode().IsRegular() || info.Size() > maxKeyFile:
		return Key{}, fmt.Errorf("%w: %s is not a small plain file", ErrKey, path)
	case runtime.GOOS != "windows" && info.Mode().Perm()&0o077 != 0: // Windows has no such bits
		return Key{}, fmt.Errorf("%w: other users of this computer can read %s (mode %04o); make it private with: chmod 600 %s", ErrKey, path, info.Mode().Perm(), path)
	}
	text, err := os.ReadFile(path)
	if err != nil {
		return Key{}, err
	}
	k, err := ParseKey(string(text))
	if err != nil {
		return Key{}, fmt.Errorf("%s: %w", path, err)
	}
	return k, nil
}

// Save writes the key of this computer to a file that only this user can read. One
// that exists is replaced only with replace.
func Save(state string, k Key, replace bool) (path string, err error) {
	if path, err = Path(state); err != nil {
		return "", err
	}
	if err := wholefile.CheckNew(replace, path); err != nil {
		return "", err
	}
	if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
		return "", err
	}
	fresh, err := os.CreateTemp(filepath.Dir(path), "pairing-key-*") // with mode 0600
	if err != nil {
		return "", err
	}
	defer os.Remove(fresh.Name()) // after the rename there is nothing
	_, err = fresh.WriteString(k.Text() + "\n")
	if err = errors.Join(err, fresh.Sync(), fresh.Close()); err != nil {
		return "", err
	}
	return path, os.Rename(fresh.Name(), path)
}
