package sacn

import (
	"errors"
	"net"
	"syscall"

	"golang.org/x/net/ipv4"
	"golang.org/x/sys/unix"
)

// isDead reports whether err means that the socket or its interface has gone.
// EINVAL is what a socket bound to an address that was taken away gets.
func isDead(err error) bool {
	if errors.Is(err, net.ErrClosed) {
		return true
	}
	var e syscall.Errno
	if !errors.As(err, &e) {
		return false
	}
	switch e {
	case unix.ENETUNREACH, unix.ENETDOWN, unix.EHOSTUNREACH, unix.EADDRNOTAVAIL,
		unix.ENODEV, unix.ENXIO, unix.EBADF, unix.ENOTSOCK, unix.EINVAL:
		return true
	}
	return false
}

func shareAddress(fd uintptr) error {
	if err := unix.SetsockoptInt(int(fd), unix.SOL_SOCKET, unix.SO_REUSEADDR, 1); err != nil {
		return err
	}
	// Each socket gets only the groups that it joined itself; by default Linux
	// gives every socket on the port the groups of all.
	return unix.SetsockoptInt(int(fd), unix.IPPROTO_IP, unix.IP_MULTICAST_ALL, 0)
}

// growBuffer asks for a large send buffer: beyond the system's limit if that
// is permitted.
func growBuffer(raw syscall.RawConn, c *net.UDPConn, n int) {
	var err error
	if e := raw.Control(func(fd uintptr) {
		err = unix.SetsockoptInt(int(fd), unix.SOL_SOCKET, unix.SO_SNDBUFFORCE, n)
	}); e != nil || err != nil {
		c.SetWriteBuffer(n)
	}
}

// The send buffer drains at the speed of the network. A frame waits for it at
// most 16 times 2 ms, then the rest of the frame is dropped: late light is
// worse than a lost packet.
const (
	maxWaits = 16
	waitMS   = 2
)

// udpConn sends by sendmmsg and bounds how long a full buffer may hold it up.
type udpConn struct {
	*net.UDPConn
	batch    *ipv4.PacketConn
	raw      syscall.RawConn
	wait     func(fd uintptr) // made once, so that waiting does not allocate
	writable bool
}

func newUDPConn(c *net.UDPConn, p *ipv4.PacketConn, raw syscall.RawConn) *udpConn {
	u := &udpConn{UDPConn: c, batch: p, raw: raw}
	u.wait = u.poll
	return u
}

func (u *udpConn) poll(fd uintptr) {
	fds := [1]unix.PollFd{{Fd: int32(fd), Events: unix.POLLOUT}}
	n, err := unix.Poll(fds[:], waitMS)
	u.writable = n > 0 || errors.Is(err, unix.EINTR)
}

// WriteBatch implements Conn. ErrBusy means that the buffer stayed full.
func (u *udpConn) WriteBatch(ms []ipv4.Message, flags int) (int, error) {
	for range maxWaits {
		n, err := u.batch.WriteBatch(ms, flags|unix.MSG_DONTWAIT)
		if err == nil || !errors.Is(err, unix.EAGAIN) {
			return n, err
		}
		if err := u.raw.Control(u.wait); err != nil {
			return 0, err
		}
		if !u.writable {
			break
		}
	}
	return 0, ErrBusy
}
