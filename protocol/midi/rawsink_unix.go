//go:build unix

package midi

import (
	"errors"
	"fmt"
	"os"

	"golang.org/x/sys/unix"
)

// rawSink writes to a device, FIFO or file with a time limit.
type rawSink struct {
	fd     int
	path   string
	shared bool // standard output: never closed
}

// openRawSink opens path for writing without waiting. A FIFO without a reader is an
// error (open(2): ENXIO). With create, a missing file is created and an existing one
// is appended to.
func openRawSink(path string, create bool) (sink, error) {
	if path == "-" {
		return &rawSink{fd: int(os.Stdout.Fd()), path: path, shared: true}, nil
	}
	flags := unix.O_WRONLY | unix.O_NONBLOCK | unix.O_CLOEXEC | unix.O_NOCTTY | unix.O_APPEND
	if create {
		flags |= unix.O_CREAT
	}
	fd, err := unix.Open(path, flags, 0o644)
	if errors.Is(err, unix.ENXIO) {
		return nil, fmt.Errorf("midi: %s: %w", path, errUnread)
	}
	if err != nil {
		return nil, withHint(path, err)
	}
	var st unix.Stat_t
	if err := unix.Fstat(fd, &st); err == nil && st.Mode&unix.S_IFMT == unix.S_IFCHR {
		setRaw(fd)
	}
	return &rawSink{fd: fd, path: path}, nil
}

// errUnread means that no program reads the FIFO or device.
var errUnread = errors.New("no program reads it")

// Write waits in poll(2) for at most writeWithin.
func (s *rawSink) Write(b []byte) (int, error) {
	done := 0
	for range 16 { // signals interrupt, and devices accept parts
		fds := [1]unix.PollFd{{Fd: int32(s.fd), Events: unix.POLLOUT}}
		n, err := unix.Poll(fds[:], writeWithin)
		switch {
		case errors.Is(err, unix.EINTR):
			continue
		case err != nil:
			return done, withHint(s.path, err)
		case n == 0:
			return done, fmt.Errorf("midi: %s: %w", s.path, errStuck)
		}
		n, err = unix.Write(s.fd, b[done:])
		switch {
		case n > 0:
			if done += n; done == len(b) {
				return done, nil
			}
		case errors.Is(err, unix.EINTR), errors.Is(err, unix.EAGAIN):
		case errors.Is(err, unix.EPIPE):
			return done, fmt.Errorf("midi: %s: %w", s.path, errUnread)
		case err != nil:
			return done, withHint(s.path, err)
		}
	}
	return done, fmt.Errorf("midi: %s: %w", s.path, errStuck)
}

// Close closes what openRawSink opened.
func (s *rawSink) Close() error {
	if s.shared {
		return nil
	}
	return unix.Close(s.fd)
}
