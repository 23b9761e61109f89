package udp

import (
	"syscall"

	"golang.org/x/sys/windows"
)

// goneErrors mean that the socket or its interface has gone.
var goneErrors = [...]syscall.Errno{
	windows.WSAENETUNREACH, windows.WSAENETDOWN, windows.WSAENETRESET, windows.WSAEHOSTUNREACH,
	windows.WSAEADDRNOTAVAIL, windows.WSAENOTSOCK, windows.WSAEINVAL, windows.WSAEBADF,
}

func setShared(fd uintptr) error {
	return windows.SetsockoptInt(windows.Handle(fd), windows.SOL_SOCKET, windows.SO_REUSEADDR, 1)
}

// setDevice has nothing to do: the address that a socket is bound to decides.
func setDevice(uintptr, string, int) error { return nil }
