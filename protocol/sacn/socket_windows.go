package sacn

import (
	"errors"
	"net"
	"syscall"

	"golang.org/x/net/ipv4"
	"golang.org/x/sys/windows"
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
	case windows.WSAENETUNREACH, windows.WSAENETDOWN, windows.WSAENETRESET, windows.WSAEHOSTUNREACH,
		windows.WSAEADDRNOTAVAIL, windows.WSAENOTSOCK, windows.WSAEINVAL, windows.WSAEBADF:
		return true
	}
	return false
}

func shareAddress(fd uintptr) error {
	return windows.SetsockoptInt(windows.Handle(fd), windows.SOL_SOCKET, windows.SO_REUSEADDR, 1)
}

func growBuffer(_ syscall.RawConn, c *net.UDPConn, n int) { c.SetWriteBuffer(n) }

// newUDPConn returns a connection whose batches are one message a call.
func newUDPConn(c *net.UDPConn, p *ipv4.PacketConn, _ syscall.RawConn) *ipv4.PacketConn {
	return p
}
