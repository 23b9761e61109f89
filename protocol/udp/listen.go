package udp

import (
	"context"
	"fmt"
	"net"
	"net/netip"
	"syscall"
)

// Listen opens a socket on local; port 0 is any free one. A named device holds
// its packets to that interface where the system can; "" is any. With share,
// other programs that share may have the same port.
func Listen(local netip.AddrPort, device string, share bool) (*net.UDPConn, error) {
	var index int
	if device != "" {
		n, err := net.InterfaceByName(device)
		if err != nil {
			return nil, fmt.Errorf("network interface %q: %w", device, err)
		}
		index = n.Index
	}
	lc := net.ListenConfig{Control: func(_, _ string, raw syscall.RawConn) error {
		var failed error
		err := raw.Control(func(fd uintptr) {
			if share {
				failed = setShared(fd)
			}
			if failed == nil && index != 0 {
				failed = setDevice(fd, device, index)
			}
		})
		if err != nil {
			return err
		}
		return failed
	}}
	c, err := lc.ListenPacket(context.Background(), "udp4", local.String())
	if err != nil {
		return nil, fmt.Errorf("opening a socket on %v: %w", local, err)
	}
	return c.(*net.UDPConn), nil
}

// ListenShared is Listen with share. It reports whether another program has the
// port already: a unicast packet then reaches only one of the two, on Linux the
// one that came last.
func ListenShared(local netip.AddrPort, device string) (c *net.UDPConn, shared bool, err error) {
	if local.Port() != 0 {
		alone, err := Listen(local, device, false)
		if err == nil {
			alone.Close()
		}
		shared = err != nil
	}
	c, err = Listen(local, device, true)
	return c, shared && err == nil, err
}
