package senders

import (
	"errors"
	"os"

	"golang.org/x/sys/windows"
)

// lockFile makes path and locks it until it is closed or the process ends. The
// file stays: whether it is locked is what counts.
func lockFile(path string) (*os.File, error) {
	f, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE, 0o600)
	if err != nil {
		return nil, err
	}
	const flags = windows.LOCKFILE_EXCLUSIVE_LOCK | windows.LOCKFILE_FAIL_IMMEDIATELY
	if err := windows.LockFileEx(windows.Handle(f.Fd()), flags, 0, 1, 0, new(windows.Overlapped)); err != nil {
		f.Close()
		if errors.Is(err, windows.ERROR_LOCK_VIOLATION) {
			return nil, errTaken
		}
		return nil, err
	}
	return f, nil
}
