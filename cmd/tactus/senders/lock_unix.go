//go:build unix

package senders

import (
	"errors"
	"os"

	"golang.org/x/sys/unix"
)

// lockFile makes path and locks it until it is closed or the process ends. The
// file stays: whether it is locked is what counts.
func lockFile(path string) (*os.File, error) {
	f, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE, 0o600)
	if err != nil {
		return nil, err
	}
	if err := unix.Flock(int(f.Fd()), unix.LOCK_EX|unix.LOCK_NB); err != nil {
		f.Close()
		if errors.Is(err, unix.EWOULDBLOCK) {
			return nil, errTaken
		}
		return nil, err
	}
	return f, nil
}
