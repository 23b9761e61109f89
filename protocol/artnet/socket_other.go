//go:build !linux

package artnet

import (
	"net"

	"golang.org/x/net/ipv4"
)

// udpBatch sends one message a call: x/net's WriteBatch sends no more than one
// off Linux, and none on Windows.
type udpBatch struct{ conn *net.UDPConn }

func newBatch(conn *net.UDPConn) batchConn { return &udpBatch{conn} }

func (u *udpBatch) WriteBatch(ms []ipv4.Message) (int, error) {
	if len(ms) == 0 {
		return 0, nil
	}
	if _, err := u.conn.WriteToUDP(ms[0].Buffers[0], ms[0].Addr.(*net.UDPAddr)); err != nil {
		return 0, err
	}
	return 1, nil
}

func (u *udpBatch) Close() error { return u.conn.Close() }
