//go:build unix

package midi

import (
	"context"
	"errors"
	"io"
	"os"

	"golang.org/x/sys/unix"
)

// rawSource is an open byte stream. Its Read returns when ctx ends.
//
// It waits in poll(2) for its file and a pipe. The runtime's poller cannot wait for
// FIFOs on every system, and rounds its waits.
type rawSource struct {
	fifo   bool
	fd     int
	wake   [2]int // closing the write end wakes Read
	stop   func() bool
	ctx    context.Context
	shared bool // standard input: never closed
}

// openRaw opens path for reading without waiting. Read then waits for a FIFO's first
// writer. A terminal or serial device is set to raw octets; its speed is not
// changed.
func openRaw(ctx context.Context, path string) (*rawSource, error) {
	s := &rawSource{ctx: ctx}
	if path == "-" {
		s.fd, s.shared = int(os.Stdin.Fd()), true
	} else {
		fd, err := unix.Open(path, unix.O_RDONLY|unix.O_NONBLOCK|unix.O_CLOEXEC|unix.O_NOCTTY, 0)
		if err != nil {
			return nil, err
		}
		s.fd = fd
	}
	var st unix.Stat_t
	if err := unix.Fstat(s.fd, &st); err == nil {
		s.fifo = st.Mode&unix.S_IFMT == unix.S_IFIFO && !s.shared
		if st.Mode&unix.S_IFMT == unix.S_IFCHR && !s.shared {
			setRaw(s.fd)
		}
	}
	if err := unix.Pipe(s.wake[:]); err != nil {
		s.closeInput()
		return nil, err
	}
	unix.CloseOnExec(s.wake[0])
	unix.CloseOnExec(s.wake[1])
	write := s.wake[1]
	s.stop = context.AfterFunc(ctx, func() { unix.Close(write) })
	return s, nil
}

// Read waits for octets, the end of the stream (io.EOF), or the end of ctx.
func (s *rawSource) Read(b []byte) (int, error) {
	for {
		fds := [2]unix.PollFd{
			{Fd: int32(s.fd), Events: unix.POLLIN},
			{Fd: int32(s.wake[0]), Events: unix.POLLIN},
		}
		if _, err := unix.Poll(fds[:], -1); err != nil {
			if errors.Is(err, unix.EINTR) {
				continue
			}
			return 0, err
		}
		if s.ctx.Err() != nil {
			return 0, s.ctx.Err()
		}
		n, err := unix.Read(s.fd, b)
		switch {
		case n > 0:
			return n, nil
		case err == nil:
			return 0, io.EOF
		case errors.Is(err, unix.EINTR):
		case errors.Is(err, unix.EAGAIN):
			// For a FIFO, a hang-up with nothing to read means that the next writer has
			// just opened it. For a device it means that it was unplugged.
			if !s.fifo && fds[0].Revents&(unix.POLLERR|unix.POLLHUP|unix.POLLNVAL) != 0 {
				return 0, unix.ENODEV
			}
		default:
			return 0, err
		}
	}
}

// Close closes what openRaw opened.
func (s *rawSource) Close() {
	if s.stop() { // else the end of ctx closes the write end
		unix.Close(s.wake[1])
	}
	unix.Close(s.wake[0])
	s.closeInput()
}

func (s *rawSource) closeInput() {
	if !s.shared {
		unix.Close(s.fd)
	}
}

// setRaw turns off line editing, so that octets pass unchanged. It does nothing for
// files that are no terminal.
func setRaw(fd int) {
	t, err := unix.IoctlGetTermios(fd, getTermios)
	if err != nil {
		return
	}
	t.Iflag &^= unix.IGNBRK | unix.BRKINT | unix.PARMRK | unix.ISTRIP | unix.INLCR | unix.IGNCR | unix.ICRNL | unix.IXON
	t.Oflag &^= unix.OPOST
	t.Lflag &^= unix.ECHO | unix.ECHONL | unix.ICANON | unix.ISIG | unix.IEXTEN
	t.Cflag = t.Cflag&^(unix.CSIZE|unix.PARENB) | unix.CS8 | unix.CREAD | unix.CLOCAL
	t.Cc[unix.VMIN], t.Cc[unix.VTIME] = 1, 0
	// If this fails, the device still sends octets, but processed by the terminal
	// driver.
	_ = unix.IoctlSetTermios(fd, setTermios, t)
}
