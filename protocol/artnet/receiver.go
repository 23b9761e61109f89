package artnet

import (
	"context"
	"fmt"
	"net"
	"net/netip"

	"tactus/clock"
	"tactus/protocol/udp"
)

// ReceiverConfig configures a Receiver.
type ReceiverConfig struct {
	// Listen is the address and port; the zero value means 0.0.0.0:6454. Only the
	// unspecified address receives broadcasts on every system.
	Listen    netip.AddrPort
	Interface string     // name of the interface; "" = all
	Base      clock.Base // time base of the packets' stamps
}

// Packet is one received datagram.
type Packet struct {
	At   clock.Time
	From netip.AddrPort
	Op   OpCode // 0 if it is not Art-Net at all
	// Err is the fault of the packet, nil if none; then the field for Op is set.
	// Packets with other OpCodes have no field.
	Err       error
	Dmx       Dmx // Data is valid only until the handler returns
	Poll      Poll
	PollReply PollReply
	Sync      Sync
}

// Decode reads b into p, except At and From. Dmx.Data is a slice of b.
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

// Run calls handle for every packet, good or bad, until ctx ends; then it closes the
// socket and returns nil. It returns an error when the socket can no longer be read.
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
