package udp

import (
	"syscall"

	"golang.org/x/sys/unix"
)

// goneErrors mean that the socket or its interface has gone.
var goneErrors = [...]syscall.Errno{
	unix.ENETUNREACH, unix.ENETDOWN, unix.EHOSTUNREACH, unix.EHOSTDOWN, unix.EADDRNOTAVAIL,
	unix.ENODEV, unix.ENXIO, unix.EBADF, unix.ENOTSOCK, unix.EINVAL,
}

// setShared sets both options: this system shares a port only with SO_REUSEPORT.
func setShared(fd uintptr) error {
	if err := unix.SetsockoptInt(int(fd), unix.SOL_SOCKET, unix.SO_REUSEADDR, 1); err != nil {
		return err
	}
	return unix.SetsockoptInt(int(fd), unix.SOL_SOCKET, unix.SO_REUSEPORT, 1)
}

func setDevice(fd uintptr, _ string, index int) error {
	return unix.SetsockoptInt(int(fd), unix.IPPROTO_IP, unix.IP_BOUND_IF, index)
}
