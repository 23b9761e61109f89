package artnet

import (
	"bytes"
	"net"
	"net/netip"

	"golang.org/x/net/ipv4"
)

// Capture returns a Sender that hands every packet and where it would have gone
// to take, in place of a network: no polls, no nodes but those that are patched,
// and 255.255.255.255 for the broadcast address of an interface. take may not
// keep the packet. Errors: ErrConfig.
func Capture(cfg SenderConfig, take func(to netip.AddrPort, packet []byte)) (*Sender, error) {
	cfg.Poll = false
	return newSender(cfg, func(to netip.AddrPort, broadcast bool) (batchConn, netip.AddrPort, error) {
		if broadcast {
			to = netip.AddrPortFrom(netip.AddrFrom4([4]byte{255, 255, 255, 255}), to.Port())
		}
		return capture{take}, to, nil
	})
}

type capture struct {
	take func(to netip.AddrPort, packet []byte)
}

// WriteBatch takes all of ms.
func (c capture) WriteBatch(ms []ipv4.Message) (int, error) {
	for i := range ms {
		to := ms[i].Addr.(*net.UDPAddr).AddrPort()
		to = netip.AddrPortFrom(to.Addr().Unmap(), to.Port())
		c.take(to, bytes.Join(ms[i].Buffers, nil))
	}
	return len(ms), nil
}

// Close does nothing.
func (c capture) Close() error { return nil }
