package sacn

import (
	"encoding/binary"
	"errors"
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
	owners   []int32 // index of each message's stream, listOwner, or syncOwner - index in Sender.sync

	// Buffers of interleave and mostToOne:
	ordered      []ipv4.Message
	orderedOwner []int32
	placed       []int32 // by place in Sender.order: index of the message + 1, or 0
	counts       []int   // by address
}

// Owners of messages that belong to no stream.
const (
	listOwner = -1
	syncOwner = -2
)

func (b *batch) reset() { b.messages, b.owners = b.messages[:0], b.owners[:0] }

func (b *batch) add(owner int, ms []ipv4.Message) {
	b.messages = append(b.messages, ms...)
	for range ms {
		b.owners = append(b.owners, int32(owner))
	}
}

// addSync adds the sync packets.
func (b *batch) addSync(ms []ipv4.Message) {
	for k, m := range ms {
		b.messages, b.owners = append(b.messages, m), append(b.owners, int32(syncOwner-k))
	}
}

// mostToOne returns how many of the first messages go to the address that gets the most.
func (b *batch) mostToOne(s *Sender, messages int) (most int) {
	if messages <= int(s.config.Spread) || s.config.Spread == 0 {
		return messages
	}
	clear(b.counts)
	for i, owner := range b.owners[:messages] {
		a := s.streams[owner].addresses[b.nth(i)]
		b.counts[a]++
		most = max(most, b.counts[a])
	}
	return most
}

// nth returns which of its owner's messages a message is, from 0.
func (b *batch) nth(i int) (n int) {
	for n < i && b.owners[i-n-1] == b.owners[i] {
		n++
	}
	return n
}

// interleave brings the first messages, in order of their streams, into Sender.order.
func (b *batch) interleave(s *Sender, messages int) {
	clear(b.placed)
	for i, owner := range b.owners[:messages] {
		b.placed[s.streams[owner].places[b.nth(i)]] = int32(i + 1)
	}
	b.ordered, b.orderedOwner = b.ordered[:0], b.orderedOwner[:0]
	for _, i := range b.placed {
		if i > 0 {
			b.ordered, b.orderedOwner = append(b.ordered, b.messages[i-1]), append(b.orderedOwner, b.owners[i-1])
		}
	}
	copy(b.messages, b.ordered)
	copy(b.owners, b.orderedOwner)
}

// orderStreams decides in which order the packets of a spread frame leave.
func (s *Sender) orderStreams() {
	numbers := map[netip.AddrPort]int{}
	var to []int
	for i := range s.streams {
		for _, m := range s.streams[i].messages {
			a := m.Addr.(*net.UDPAddr).AddrPort()
			n, ok := numbers[a]
			if !ok {
				n = len(numbers)
				numbers[a] = n
			}
			to = append(to, n)
		}
	}
	place := make([]int32, len(to))
	for at, i := range udp.Interleave(to) {
		place[i] = int32(at)
	}
	for i := range s.streams {
		st := &s.streams[i]
		n := len(st.messages)
		for _, a := range to[:n] {
			st.addresses = append(st.addresses, int32(a))
		}
		st.places, to, place = place[:n:n], to[n:], place[n:]
	}
	b := &s.batch
	b.placed, b.counts = make([]int32, b.total(s)), make([]int, len(numbers))
}

// total returns how many packets with levels a frame has at most.
func (b *batch) total(s *Sender) (n int) {
	for i := range s.streams {
		n += len(s.streams[i].messages)
	}
	return n
}

// outcome is the result of sending a batch.
type outcome struct {
	gone  bool  // the socket failed or its interface is missing
	first error // a *SendError
}

// write sends part of the batch. Streams that lost a packet send again in the next frame.
func (s *Sender) write(from, to int) {
	if from >= to {
		return
	}
	sent := udp.Write(s.conn, s.batch.messages[from:to], func(i int, err error) {
		m, o := &s.batch.messages[from+i], &s.frame.late
		s.stats.Failed++
		o.gone = o.gone || udp.Gone(err)
		s.frame.ended = errors.Is(err, udp.ErrFull) || errors.Is(err, net.ErrClosed)
		if owner := s.batch.owners[from+i]; owner >= 0 {
			s.streams[owner].resend()
			s.loseSync(m.Addr.(*net.UDPAddr).AddrPort(), err)
		}
		if o.first == nil {
			o.first = sendError(m, err)
		}
	})
	s.stats.Packets += uint64(sent)
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
