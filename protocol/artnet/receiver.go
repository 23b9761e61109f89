package artnet

import (
	"context"
	"fmt"
	"net"
	"net/netip"

	"tactus/clock"
	"tactus/protocol/udp"
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
	base clock.Base
	conn *net.UDPConn
}

// NewReceiver opens the socket, which other programs may share.
func NewReceiver(cfg ReceiverConfig) (*Receiver, error) {
	if !cfg.Listen.IsValid() {
		cfg.Listen = netip.AddrPortFrom(netip.IPv4Unspecified(), Port)
	}
	conn, err := udp.Listen(cfg.Listen, cfg.Interface, true)
	if err != nil {
		return nil, fmt.Errorf("artnet: %w", err)
	}
	return &Receiver{base: cfg.Base, conn: conn}, nil
}

// Run hands every packet, good or bad, to handle until ctx ends; then it closes
// the socket and returns nil. A socket that cannot be read any more ends it with
// an error.
func (r *Receiver) Run(ctx context.Context, handle func(Packet)) error {
	defer r.conn.Close()
	defer context.AfterFunc(ctx, func() { r.conn.Close() })()
	var p Packet
	err := udp.Receive(r.conn, maxPacket, func(from netip.AddrPort, b []byte) {
		p.At, p.From = r.base.Now(), from
		p.Decode(b)
		handle(p)
	})
	if err != nil {
		return fmt.Errorf("artnet: %w", err)
	}
	return nil
}
