package artnet

import (
	"context"
	"errors"
	"fmt"
	"net"
	"net/netip"

	"tactus/clock"
)

// ReceiverConfig says where a Receiver listens.
type ReceiverConfig struct {
	// Listen is the address and port; the zero value means 0.0.0.0:6454. Only
	// an unspecified address hears broadcasts on every system.
	Listen    netip.AddrPort
	Interface string     // by name; "" = all
	Base      clock.Base // what packets are stamped against
}

// Packet is one datagram as it arrived.
type Packet struct {
	At   clock.Time
	From netip.AddrPort
	Op   OpCode // 0 if it is not Art-Net at all
	// Err is what is wrong with it, nil if nothing; then the field that Op names
	// is set. Packets with other OpCodes have none.
	Err       error
	Dmx       Dmx // Data is valid only until the handler returns
	Poll      Poll
	PollReply PollReply
	Sync      Sync
}

// Decode reads b into p, all but At and From. Dmx.Data stays a part of b.
func (p *Packet) Decode(b []byte) {
	*p = Packet{At: p.At, From: p.From}
	if p.Op, p.Err = OpCodeOf(b); p.Err != nil {
		return
	}
	switch p.Op {
	case OpDmx:
		p.Err = p.Dmx.Parse(b)
	case OpPoll:
		p.Err = p.Poll.Parse(b)
	case OpPollReply:
		p.Err = p.PollReply.Parse(b)
	case OpSync:
		p.Err = p.Sync.Parse(b)
	}
}

// Receiver reads Art-Net packets from one socket.
type Receiver struct {
	base   clock.Base
	conn   *net.UDPConn
	shared bool
}

// NewReceiver opens the socket, which other programs may share.
func NewReceiver(cfg ReceiverConfig) (*Receiver, error) {
	if !cfg.Listen.IsValid() {
		cfg.Listen = netip.AddrPortFrom(netip.IPv4Unspecified(), Port)
	}
	conn, shared, err := listenShared(cfg.Listen, cfg.Interface)
	if err != nil {
		return nil, err
	}
	return &Receiver{base: cfg.Base, conn: conn, shared: shared}, nil
}

// Addr is where the receiver listens.
func (r *Receiver) Addr() netip.AddrPort { return r.conn.LocalAddr().(*net.UDPAddr).AddrPort() }

// Shared says that another program has the port too: a unicast packet then
// reaches only one of the two, on Linux the one that came last.
func (r *Receiver) Shared() bool { return r.shared }

// Run hands every packet to handle, good or bad, until ctx ends; it then closes
// the socket and returns nil. It goes on after read errors, and returns one
// only when 64 follow each other.
func (r *Receiver) Run(ctx context.Context, handle func(Packet)) error {
	defer r.conn.Close()
	stop := context.AfterFunc(ctx, func() { r.conn.Close() })
	defer stop()
	var buf [1500]byte
	var p Packet
	for failed := 0; ; {
		n, from, err := r.conn.ReadFromUDPAddrPort(buf[:])
		switch {
		case errors.Is(err, net.ErrClosed):
			return nil
		case err != nil:
			if failed++; failed == maxReadErrors {
				return fmt.Errorf("artnet: receive on %v: %w", r.Addr(), err)
			}
			continue
		}
		failed = 0
		p.At, p.From = r.base.Now(), netip.AddrPortFrom(from.Addr().Unmap(), from.Port())
		p.Decode(buf[:n])
		handle(p)
	}
}
