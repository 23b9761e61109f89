package senders

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"github.com/rs/zerolog"

	"tactus/protocol/sacn"
)

// identity keeps this installation's CID to one run at a time: two streams
// with one CID look like one to receivers, which then mix them (E1.31-2018,
// 5.6 and 6.2.3).
type identity struct{ lock *os.File }

// errTaken means that another run has the identity.
var errTaken = errors.New("another tactus is running here")

// identify returns the CID to send with. Whatever is wrong is told, and the
// run gets a new CID of its own.
func identify(state string, log zerolog.Logger) ([16]byte, *identity) {
	path, err := IdentityPath(state)
	if err != nil {
		log.Warn().Err(err).Msg(strangerText)
		return sacn.NewCID(), nil
	}
	cid, err := sacn.LoadCID(path)
	if err != nil {
		log.Warn().Err(err).Msg(strangerText)
		return cid, nil
	}
	held, err := lockFile(path + ".lock")
	if err != nil {
		log.Warn().Err(err).Msg(strangerText)
		return sacn.NewCID(), nil
	}
	return cid, &identity{held}
}

const strangerText = "no lasting sACN identity; receivers may see a second source for 2.5 s after a restart"

// release lets another run have the identity.
func (i *identity) release() {
	if i != nil && i.lock != nil {
		i.lock.Close()
		i.lock = nil
	}
}

// IdentityPath is where this installation's CID is kept.
func IdentityPath(state string) (string, error) {
	if state == "" {
		config, err := os.UserConfigDir()
		if err != nil {
			return "", fmt.Errorf("nowhere to keep this installation's identity: %w; --state names a folder", err)
		}
		state = filepath.Join(config, "tactus")
	}
	return filepath.Join(state, "cid"), nil
}
