package sacn

import (
	"errors"
	"net"
	"syscall"

	"golang.org/x/net/ipv4"
	"golang.org/x/sys/unix"
)

// isDead reports whether err means that the socket or its interface has gone.
func isDead(err error) bool {
	if errors.Is(err, net.ErrClosed) {
		return true
	}
	var e syscall.Errno
	if !errors.As(err, &e) {
		return false
	}
	switch e {
	case unix.ENETUNREACH, unix.ENETDOWN, unix.EHOSTUNREACH, unix.EHOSTDOWN, unix.EADDRNOTAVAIL,
		unix.ENODEV, unix.ENXIO, unix.EBADF, unix.ENOTSOCK, unix.EINVAL:
		return true
	}
	return false
}

func shareAddress(fd uintptr) error {
	if err := unix.SetsockoptInt(int(fd), unix.SOL_SOCKET, unix.SO_REUSEADDR, 1); err != nil {
		return err
	}
	return unix.SetsockoptInt(int(fd), unix.SOL_SOCKET, unix.SO_REUSEPORT, 1)
}

func growBuffer(_ syscall.RawConn, c *net.UDPConn, n int) { c.SetWriteBuffer(n) }

// newUDPConn returns a connection whose batches are one message a call.
func newUDPConn(c *net.UDPConn, p *ipv4.PacketConn, _ syscall.RawConn) *ipv4.PacketConn {
	return p
}
