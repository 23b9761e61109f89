package senders

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"github.com/gofrs/flock"
	"github.com/rs/zerolog"

	"tactus/protocol/sacn"
)

// errInUse means that another run has the identity.
var errInUse = errors.New("another tactus is running here")

// loadIdentity returns the CID to send with, and a lock that keeps it to this run:
// two streams with one CID look like one to receivers, which then mix them
// (E1.31-2018, 5.6 and 6.2.3). Without a lasting CID the run gets a new one and no
// lock, and the log says why.
func loadIdentity(state string, log zerolog.Logger) ([16]byte, *flock.Flock) {
	cid, lock, err := lockIdentity(state)
	if err != nil {
		log.Warn().Err(err).Msg("no lasting sACN identity; receivers may see a second source for 2.5 s after a restart")
		return sacn.NewCID(), nil
	}
	return cid, lock
}

func lockIdentity(state string) (cid [16]byte, lock *flock.Flock, err error) {
	path, err := IdentityPath(state)
	if err != nil {
		return cid, nil, err
	}
	if cid, err = sacn.LoadCID(path); err != nil {
		return cid, nil, err
	}
	lock = flock.New(path + ".lock") // the file stays: whether it is locked is what counts
	locked, err := lock.TryLock()
	if err == nil && !locked {
		err = errInUse
	}
	return cid, lock, err
}

// IdentityPath is where this installation's CID is kept.
func IdentityPath(state string) (string, error) {
	folder, err := StateFolder(state)
	if err != nil {
		return "", fmt.Errorf("nowhere to keep this installation's identity: %w", err)
	}
	return filepath.Join(folder, "cid"), nil
}

// StateFolder is the folder that --state names; without it, one in the user's
// configuration folder.
func StateFolder(state string) (string, error) {
	if state != "" {
		return state, nil
	}
	config, err := os.UserConfigDir()
	if err != nil {
		return "", fmt.Errorf("%w; --state names a folder", err)
	}
	return filepath.Join(config, "tactus"), nil
}
