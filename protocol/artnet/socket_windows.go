package artnet

import "golang.org/x/sys/windows"

func setReuse(fd uintptr) error {
	return windows.SetsockoptInt(windows.Handle(fd), windows.SOL_SOCKET, windows.SO_REUSEADDR, 1)
}

// keepToInterface has nothing to do: the address that data sockets are bound to
// decides.
func keepToInterface(uintptr, string, int) error { return nil }
