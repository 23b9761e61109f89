package artnet

import (
	"net/netip"

	"tactus/clock"
	"tactus/protocol/udp"
)

// pollAfterChange is the least time between a poll and another for a change of the
// links.
const pollAfterChange = 500 * clock.Millisecond

// LinkFault returns what keeps packets from leaving this computer, nil if nothing
// does. Any goroutine may call it.
func (s *Sender) LinkFault() *udp.LinkError {
	if s.watch == nil {
		return nil
	}
	return s.watch.Fault()
}

// lookAtLinks acts when the system reported a change of interfaces, addresses or
// routes: sockets that failed are opened again in this frame, and nodes are polled. The
// reply of a node also tells this computer the node's hardware address.
func (s *Sender) lookAtLinks(now clock.Time) {
	if s.watch == nil || s.watch.Changes() == s.changes {
		return
	}
	s.changes = s.watch.Changes()
	for _, list := range [...][]*link{s.links, s.syncLinks} {
		for _, l := range list {
			l.linksChanged()
		}
	}
	if s.discovery != nil && now-s.lastPoll >= pollAfterChange {
		s.lastPoll = now
		s.discovery.poll()
	}
}

// watchRoutes watches the routes to all nodes where no interface is named.
func (s *Sender) watchRoutes() {
	if s.watch == nil || s.cfg.Interface != "" {
		return
	}
	var to []netip.Addr
	for _, l := range s.links {
		to = append(to, l.to.Addr())
	}
	s.watch.Watch(to)
}

// flushLink sends the packets of a link's batch up to one. Those that would leave by an
// interface without carrier are held back: see [udp.LinkWatch.NoCarrier].
func (s *Sender) flushLink(now clock.Time, l *link, upTo int) (err error) {
	switch {
	case l.tried >= len(l.batch): // nothing of it is left to send
		return nil
	case !l.broadcast && s.watch != nil && s.watch.NoCarrier(l.to.Addr()):
		err = l.holdBack()
	default:
		err = l.flush(now, s.open, upTo)
	}
	if err != nil {
		s.resendOn(l)
		l.lost = true
	}
	return err
}
