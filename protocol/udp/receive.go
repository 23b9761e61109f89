package udp

import (
	"errors"
	"fmt"
	"net"
	"net/netip"
)

// maxReadErrors in a row end Receive.
const maxReadErrors = 64

// Receive hands every packet that arrives at c, and its source, to handle until
// c is closed; then it returns nil. A packet of more than size octets is cut to
// size+1. packet holds only until handle returns.
//
// Receive goes on after a read that fails, since some systems report there that
// a peer is unreachable. It returns the error of the 64th that fails in a row.
func Receive(c *net.UDPConn, size int, handle func(from netip.AddrPort, packet []byte)) error {
	buffer := make([]byte, size+1)
	for failed := 0; ; {
		n, from, err := c.ReadFromUDPAddrPort(buffer)
		switch {
		case errors.Is(err, net.ErrClosed):
			return nil
		case err != nil:
			if failed++; failed == maxReadErrors {
				return fmt.Errorf("receiving on %v: %w", c.LocalAddr(), err)
			}
			continue
		}
		failed = 0
		handle(netip.AddrPortFrom(from.Addr().Unmap(), from.Port()), buffer[:n])
	}
}
