package udp

import (
	"errors"
	"net"
	"syscall"

	"golang.org/x/sys/unix"
)

// goneErrors mean that the socket or its interface has gone. EINVAL is what a
// socket gets that is bound to an address which was taken away.
var goneErrors = [...]syscall.Errno{
	unix.ENETUNREACH, unix.ENETDOWN, unix.EHOSTUNREACH, unix.EADDRNOTAVAIL,
	unix.ENODEV, unix.ENXIO, unix.EBADF, unix.ENOTSOCK, unix.EINVAL,
}

func setShared(fd uintptr) error {
	if err := unix.SetsockoptInt(int(fd), unix.SOL_SOCKET, unix.SO_REUSEADDR, 1); err != nil {
		return err
	}
	// Each socket gets only the groups that it joined itself; by default Linux
	// gives every socket on the port the groups of all (ip(7)).
	return unix.SetsockoptInt(int(fd), unix.IPPROTO_IP, unix.IP_MULTICAST_ALL, 0)
}

func setDevice(fd uintptr, name string, _ int) error {
	err := unix.SetsockoptString(int(fd), unix.SOL_SOCKET, unix.SO_BINDTODEVICE, name)
	if errors.Is(err, unix.EPERM) {
		return nil // before Linux 5.7 without privilege: the bound address has to do
	}
	return err
}

// GrowSendBuffer asks for a send buffer of n octets: beyond the system's limit
// where that is permitted (socket(7), SO_SNDBUFFORCE), else up to it.
func GrowSendBuffer(c *net.UDPConn, n int) {
	raw, err := c.SyscallConn()
	if err != nil {
		return
	}
	if e := raw.Control(func(fd uintptr) {
		err = unix.SetsockoptInt(int(fd), unix.SOL_SOCKET, unix.SO_SNDBUFFORCE, n)
	}); e != nil || err != nil {
		c.SetWriteBuffer(n)
	}
}
