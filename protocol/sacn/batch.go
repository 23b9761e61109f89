package sacn

import (
	"encoding/binary"
	"fmt"
	"net"
	"net/netip"

	"golang.org/x/net/ipv4"

	"tactus/protocol/udp"
)

// SendError is the error of a packet that was not sent.
type SendError struct {
	Universe uint16 // 0 for the list of universes
	To       netip.AddrPort
	Err      error
}

// Error names the universe and the destination.
func (e *SendError) Error() string {
	if e.Universe == 0 {
		return fmt.Sprintf("sacn: list of universes to %s: %v", e.To, e.Err)
	}
	return fmt.Sprintf("sacn: universe %d to %s: %v", e.Universe, e.To, e.Err)
}

// Unwrap returns the system's error.
func (e *SendError) Unwrap() error { return e.Err }

// batch holds all packets of one frame.
type batch struct {
	messages []ipv4.Message
	owners   []int32 // index of each message's stream, or -1
}

func (b *batch) reset() { b.messages, b.owners = b.messages[:0], b.owners[:0] }

func (b *batch) add(owner int, ms []ipv4.Message) {
	b.messages = append(b.messages, ms...)
	for range ms {
		b.owners = append(b.owners, int32(owner))
	}
}

// outcome is the result of sending a batch.
type outcome struct {
	gone  bool  // the socket failed or its interface is missing
	first error // a *SendError
}

// write sends the batch. Streams that lost a packet send again in the next frame.
func (s *Sender) write() (o outcome) {
	sent := udp.Write(s.conn, s.batch.messages, func(i int, err error) {
		s.stats.Failed++
		o.gone = o.gone || udp.Gone(err)
		if owner := s.batch.owners[i]; owner >= 0 {
			s.streams[owner].resend()
		}
		if o.first == nil {
			o.first = sendError(&s.batch.messages[i], err)
		}
	})
	s.stats.Packets += uint64(sent)
	return o
}

// sendError returns a SendError with the message that failed.
func sendError(m *ipv4.Message, err error) error {
	e := &SendError{Err: err, To: m.Addr.(*net.UDPAddr).AddrPort()}
	switch kind, _ := KindOf(m.Buffers[0]); kind {
	case Data:
		e.Universe = binary.BigEndian.Uint16(m.Buffers[0][offUniverse:])
	case Sync:
		e.Universe = binary.BigEndian.Uint16(m.Buffers[0][offSyncUniverse:])
	}
	return e
}
