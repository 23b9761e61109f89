package osc

import (
	"context"
	"net"
	"net/netip"
	"sync/atomic"
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

// Run calls use for each packet until ctx ends; then it closes the socket and
// returns ctx.Err(). An error of the socket ends it too.
func (r *Receiver) Run(ctx context.Context, use func(from netip.AddrPort, e Element)) error {
	defer r.conn.Close()
	stop := context.AfterFunc(ctx, func() { r.conn.Close() })
	defer stop()
	buf := make([]byte, MaxPacket+1)
	for {
		n, from, err := r.conn.ReadFromUDPAddrPort(buf)
		if ctx.Err() != nil {
			return ctx.Err()
		}
		if err != nil {
			return err
		}
		e, err := Parse(buf[:n])
		if err != nil {
			r.refused.Add(1)
			continue
		}
		use(from, e)
	}
}
