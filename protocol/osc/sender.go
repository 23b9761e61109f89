package osc

import (
	"context"
	"net"
	"net/netip"
	"sync/atomic"
)

// Packet is what can be sent: a *Message.
type Packet interface {
	AppendTo(b []byte) []byte
}

// Sender sends packets to one address by UDP. Send never waits: a goroutine of
// the sender's own (Run) writes.
type Sender struct {
	to    netip.AddrPort
	conn  *net.UDPConn
	free  chan []byte
	ready chan []byte

	sent, lost atomic.Uint64
}

// Stats counts packets of a Sender.
type Stats struct {
	Sent uint64 // handed to the system
	Lost uint64 // found no room, were too long, or were refused by the system
}

// Queue is how many packets wait at most; more are lost.
const Queue = 64

// NewSender opens a socket that sends to an address, such as 127.0.0.1:9000.
func NewSender(to netip.AddrPort) (*Sender, error) {
	conn, err := net.DialUDP("udp", nil, net.UDPAddrFromAddrPort(to))
	if err != nil {
		return nil, err
	}
	s := &Sender{to: to, conn: conn, free: make(chan []byte, Queue), ready: make(chan []byte, Queue)}
	for range Queue {
		s.free <- make([]byte, 0, 512)
	}
	return s, nil
}

// Send queues the octets of p, or counts it as lost and returns false. It
// allocates only for a packet longer than those before it.
func (s *Sender) Send(p Packet) bool {
	var b []byte
	select {
	case b = <-s.free:
	default:
		s.lost.Add(1)
		return false
	}
	b = p.AppendTo(b[:0])
	if len(b) == 0 || len(b) > MaxPacket {
		s.lost.Add(1)
		s.free <- b
		return false
	}
	s.ready <- b // there are as many places as buffers
	return true
}

// Run writes what is sent until ctx ends, then what still waits; it closes the
// socket and returns ctx.Err(). What the system refuses is counted.
func (s *Sender) Run(ctx context.Context) error {
	defer s.conn.Close()
	for {
		var b []byte
		select {
		case b = <-s.ready:
		case <-ctx.Done():
			select {
			case b = <-s.ready:
			default:
				return ctx.Err()
			}
		}
		if _, err := s.conn.Write(b); err != nil {
			s.lost.Add(1)
		} else {
			s.sent.Add(1)
		}
		s.free <- b
	}
}

// Close closes the socket of a Sender that is not run. Run closes it itself.
func (s *Sender) Close() error { return s.conn.Close() }

// Stats returns the counts so far.
func (s *Sender) Stats() Stats { return Stats{Sent: s.sent.Load(), Lost: s.lost.Load()} }
