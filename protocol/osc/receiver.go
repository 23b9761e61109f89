package osc

import (
	"context"
	"net"
	"net/netip"
	"sync/atomic"

	"tactus/protocol/udp"
)

// Receiver takes packets from a UDP port. What waits is bounded by the socket's
// own buffer; what finds no room there is lost.
type Receiver struct {
	conn    *net.UDPConn
	refused atomic.Uint64
}

// NewReceiver listens on an address. An address that is not valid means
// 127.0.0.1, a port that the system chooses.
func NewReceiver(on netip.AddrPort) (*Receiver, error) {
	if !on.IsValid() {
		on = netip.AddrPortFrom(netip.AddrFrom4([4]byte{127, 0, 0, 1}), 0)
	}
	conn, err := net.ListenUDP("udp", net.UDPAddrFromAddrPort(on))
	if err != nil {
		return nil, err
	}
	return &Receiver{conn: conn}, nil
}

// Addr returns where it listens.
func (r *Receiver) Addr() netip.AddrPort { return r.conn.LocalAddr().(*net.UDPAddr).AddrPort() }

// Refused returns how many packets were not OSC.
func (r *Receiver) Refused() uint64 { return r.refused.Load() }

// Close closes the socket of a Receiver that is not run. Run closes it itself.
func (r *Receiver) Close() error { return r.conn.Close() }

// Run calls handle for each packet, one at a time, until ctx ends; then it closes
// the socket and returns ctx.Err(). A socket that cannot be read any more ends it
// with an error.
func (r *Receiver) Run(ctx context.Context, handle func(e Element)) error {
	defer r.conn.Close()
	defer context.AfterFunc(ctx, func() { r.conn.Close() })()
	err := udp.Receive(r.conn, MaxPacket, func(_ netip.AddrPort, packet []byte) {
		e, err := Parse(packet)
		if err != nil {
			r.refused.Add(1)
			return
		}
		handle(e)
	})
	if ctx.Err() != nil {
		return ctx.Err()
	}
	return err
}
