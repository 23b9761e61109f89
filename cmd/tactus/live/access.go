package live

import (
	"bytes"
	"errors"
	"io/fs"
	"net"
	"os"
	"path/filepath"

	"tactus/cmd/tactus/senders"
	"tactus/cmd/tactus/usage"
	"tactus/panel"
)

// PassphrasePath is where the hash for a right is kept.
func PassphrasePath(state, right string) (string, error) {
	cid, err := senders.IdentityPath(state)
	if err != nil {
		return "", err
	}
	return filepath.Join(filepath.Dir(cid), "panel-"+right), nil
}

// readAccess reads the hashes of the passphrases that are set.
func readAccess(state string) (a panel.Access, err error) {
	for right, hash := range map[string]*[]byte{"control": &a.Control, "watch": &a.Watch} {
		path, err := PassphrasePath(state, right)
		if err != nil {
			return panel.Access{}, err
		}
		text, err := os.ReadFile(path)
		if errors.Is(err, fs.ErrNotExist) {
			continue
		}
		if err != nil {
			return panel.Access{}, err
		}
		*hash = bytes.TrimSpace(text)
	}
	return a, nil
}

// accessFor returns the passphrases that a page asks for: none where only this
// computer reaches it. Elsewhere one for control has to be set.
func accessFor(on *net.TCPAddr, state string) (panel.Access, error) {
	if on.IP.IsLoopback() {
		return panel.Access{}, nil
	}
	access, err := readAccess(state)
	if err == nil && access.Control == nil {
		where := ""
		if state != "" {
			where = " --state " + state
		}
		err = usage.Errorf("--panel-at %s: others can reach it, and no passphrase is set; set one with: tactus passphrase control%s", on, where)
	}
	return access, err
}
