//go:build !linux

package udp

import (
	"net"

	"golang.org/x/net/ipv4"
)

// singleConn sends one message a call: x/net's WriteBatch sends no more than one
// on macOS, and none on Windows.
type singleConn struct{ *net.UDPConn }

// NewConn returns a Conn that writes to c. A full buffer makes it wait, whatever
// wait says: the system gives no other choice.
func NewConn(c *net.UDPConn, _ bool) (Conn, error) { return singleConn{c}, nil }

// WriteBatch implements Conn.
func (s singleConn) WriteBatch(ms []ipv4.Message) (int, error) {
	if _, err := s.WriteToUDP(ms[0].Buffers[0], ms[0].Addr.(*net.UDPAddr)); err != nil {
		return 0, err
	}
	return 1, nil
}

// GrowSendBuffer asks for a send buffer of n octets; the system may give less.
func GrowSendBuffer(c *net.UDPConn, n int) { c.SetWriteBuffer(n) }
