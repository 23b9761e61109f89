package sacn

import (
	"bytes"
	"net"
	"net/netip"

	"golang.org/x/net/ipv4"
)

// Capture returns a SenderConfig.Open that hands every packet and where it would
// have gone to take, in place of a network. take may not keep the packet.
func Capture(take func(to netip.AddrPort, packet []byte)) func() (Conn, error) {
	return func() (Conn, error) { return capture{take}, nil }
}

type capture struct {
	take func(to netip.AddrPort, packet []byte)
}

// WriteBatch takes all of ms.
func (c capture) WriteBatch(ms []ipv4.Message, _ int) (int, error) {
	for i := range ms {
		to := ms[i].Addr.(*net.UDPAddr).AddrPort()
		to = netip.AddrPortFrom(to.Addr().Unmap(), to.Port())
		c.take(to, bytes.Join(ms[i].Buffers, nil))
	}
	return len(ms), nil
}

// Close does nothing.
func (c capture) Close() error { return nil }
