package sacn

import (
	"fmt"
	"net"
	"net/netip"

	"tactus/protocol/udp"
)

// watchLinks watches the interface of multicast, and those by which the system
// routes unicast.
func (c *SenderConfig) watchLinks() *udp.LinkWatch {
	var to []netip.Addr
	for i := range c.Universes {
		for _, d := range c.Universes[i].Destinations {
			if !d.Addr().IsMulticast() {
				to = append(to, d.Addr())
			}
		}
	}
	return udp.NewLinkWatch(c.Interface, to)
}

// LinkFault returns what keeps packets from leaving this computer, nil if nothing
// does. Any goroutine may call it.
func (s *Sender) LinkFault() *udp.LinkError {
	if s.links == nil {
		return nil
	}
	return s.links.Fault()
}

// reopenAfterChange opens a failed socket again if the system reported a change
// since, so that the first frame after the return of an interface goes out.
func (s *Sender) reopenAfterChange() {
	if s.links == nil {
		return
	}
	changes := s.links.Changes()
	if s.failing && changes != s.changes {
		s.retry = backoff{}
		s.reopen()
	}
	s.changes = changes
}

// reopen replaces the socket when it can open a new one. Until then it keeps the old
// one, which may still reach other destinations or recover.
func (s *Sender) reopen() {
	s.stats.Attempts++
	c, err := s.open()
	if err != nil {
		return // Send returns the error of sending, which has the same cause
	}
	s.conn.Close()
	s.conn = c
	s.stats.Reopened++
}

// holdBack takes packets out of the batch that would leave by an interface without
// carrier, to a single device: see [udp.LinkWatch.NoCarrier]. It returns the fault of
// the links.
func (s *Sender) holdBack() error {
	fault := s.LinkFault()
	if fault == nil {
		return nil
	}
	kept := 0
	for i := range s.batch.messages {
		m, owner := s.batch.messages[i], s.batch.owners[i]
		to := m.Addr.(*net.UDPAddr).AddrPort().Addr().Unmap()
		if !to.IsMulticast() && s.links.NoCarrier(to) {
			s.stats.Failed++
			if owner >= 0 {
				s.streams[owner].resend()
			}
			continue
		}
		s.batch.messages[kept], s.batch.owners[kept] = m, owner
		kept++
	}
	s.batch.messages, s.batch.owners = s.batch.messages[:kept], s.batch.owners[:kept]
	return fmt.Errorf("sacn: %w", fault)
}
