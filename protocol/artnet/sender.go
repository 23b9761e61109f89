package artnet

import (
	"fmt"
	"math/rand/v2"
	"net"
	"net/netip"
	"slices"
	"sync/atomic"

	"tactus/clock"
	"tactus/protocol/dmx"
	"tactus/protocol/udp"
)

// Polls are sent every 2.5 to 3 s, at random so that several controllers do not poll
// at the same time (Art-Net 4, ArtPoll).
const (
	pollEvery  = 2500 * clock.Millisecond
	pollJitter = 500 * clock.Millisecond
)

// Counts counts packets and sockets since the start.
type Counts struct {
	Sent     uint64 // passed to the system
	Lost     uint64 // refused by the system, or without a socket
	Reopened uint64 // failed sockets that were replaced
	Attempts uint64 // times that opening a socket was tried again
	LeftOut  uint64 // packets to discovered nodes that no frame had room for
}

type counts struct{ sent, lost, reopened, attempts, leftOut atomic.Uint64 }

// Sender sends universes to Art-Net nodes. Only one goroutine may call Send and
// Close; any goroutine may call the other methods.
type Sender struct {
	cfg       SenderConfig
	open      opener
	streams   []stream
	links     []*link // for data, one for each destination
	syncLinks []*link // for ArtSync
	sync      [][]byte
	counts    counts
	closed    bool

	frame   slicedFrame
	watch   *udp.LinkWatch // nil without sockets
	changes uint32         // of watch, as last seen

	nodes      *nodeTable
	discovery  *discovery // nil without polls
	discovered []*link    // the end of links: nodes that are not patched
	turn       int        // the one of them that is first in the next frame
	lastPoll   clock.Time
	nextPoll   clock.Time
	newRoutes  bool       // nodes came, went or changed since updateRoutes
	routesAt   clock.Time // when it was last called

	silent bool // sends no data: see SetSilent
}

// NewSender checks cfg and returns a Sender. It opens no data socket yet. Describe
// and Send report an interface without an address, and Send uses it as soon as it
// has one. Errors: ErrConfig, all errors joined.
func NewSender(cfg SenderConfig) (*Sender, error) {
	return newSender(cfg, nil)
}

// newSender is NewSender with an opener for the data sockets; nil opens real
// sockets.
func newSender(cfg SenderConfig, open opener) (*Sender, error) {
	cfg, err := cfg.normalize()
	if err != nil {
		return nil, err
	}
	s := &Sender{cfg: cfg, open: open, nodes: newNodeTable(&cfg), routesAt: -routesEvery}
	if open == nil {
		s.open = s.cfg.openSocket
		s.watch = udp.NewLinkWatch(cfg.Interface, nil)
	}
	var sync Sync
	s.sync = [][]byte{sync.AppendTo(nil)}
	for _, u := range cfg.Universes {
		s.streams = append(s.streams, newStream(u))
	}
	s.updateRoutes()
	if cfg.Poll {
		s.discovery = newDiscovery(&s.cfg, cfg.patched(), s.watch)
	}
	return s, nil
}

// Capture returns a Sender that calls take with every packet and its destination
// instead of sending it. It sends no polls, knows only patched nodes, and uses
// 255.255.255.255 as the broadcast address of an interface. take must not keep the
// packet. Errors: ErrConfig.
func Capture(cfg SenderConfig, take func(to netip.AddrPort, packet []byte)) (*Sender, error) {
	cfg.Poll = false
	return newSender(cfg, func(to netip.AddrPort, broadcast bool) (udp.Conn, netip.AddrPort, error) {
		if broadcast {
			to = netip.AddrPortFrom(limitedBroadcast(), to.Port())
		}
		return udp.Capture(take), to, nil
	})
}

// sendBuffer is the requested send buffer of a data socket, in octets. The kernel
// queues packets for a node that does not answer ARP (Linux: up to 212,992 octets a
// node) and counts them as part of the buffer. With a buffer larger than that queue,
// the queue drops its oldest packet and the socket never fills up.
const sendBuffer = 1 << 20

// openSocket opens a data socket bound to the interface's address.
func (c *SenderConfig) openSocket(to netip.AddrPort, broadcast bool) (udp.Conn, netip.AddrPort, error) {
	local := netip.IPv4Unspecified()
	if c.Interface != "" {
		n, err := udp.Choose(c.Interface)
		if err != nil {
			return nil, to, err
		}
		local = n.Addr(to.Addr())
		if broadcast {
			all, ok := udp.Broadcast(n.Networks[0])
			if !ok {
				return nil, to, fmt.Errorf("network %v of %s has no broadcast address", n.Networks[0], n)
			}
			local, to = n.Networks[0].Addr(), netip.AddrPortFrom(all, to.Port())
		}
	}
	conn, err := udp.Listen(netip.AddrPortFrom(local, 0), c.Interface, false)
	if err != nil {
		return nil, to, err
	}
	udp.GrowSendBuffer(conn, sendBuffer)
	out, err := udp.NewConn(conn, false) // one node must not delay the others
	return out, to, err
}

// Send sends the universes that are due at now. Call it once a frame, at most 44
// times a second. It tries every packet, never waits, and returns the first error;
// failed packets are sent again in the next frame. It allocates only on errors and
// when nodes appear or change.
//
// only marks by index which universes of u may be sent in this call; nil is all. It
// is as long as u. A universe that is not marked keeps its schedule. ArtSync follows
// every call with a marked universe, so pass synchronized universes in the same
// calls. A node does not get it if levels for it could not be sent, for half a second at
// most.
//
// A frame that is large for SenderConfig.Spread leaves by SendSlice, which the caller calls
// when NextSlice says so. What is left of it leaves with the next Send or Close. An error
// of these is returned by the next Send.
func (s *Sender) Send(now clock.Time, u []dmx.Universe, only []bool) error {
	if s.closed {
		return net.ErrClosed
	}
	s.sendRest(now)
	s.lookAtLinks(now)
	if s.discovery != nil {
		s.updateNodes(now)
	}
	if s.silent {
		return nil
	}
	var first error
	given := false
	for i := range s.streams {
		st := &s.streams[i]
		if st.source >= len(u) {
			if first == nil {
				first = fmt.Errorf("artnet: source %d: have %d universes", st.source, len(u))
			}
			continue
		}
		if only != nil && !only[st.source] {
			continue
		}
		given = true
		levels := &u[st.source].Slots
		if len(st.links) == 0 || !st.due(now, levels) {
			continue
		}
		st.prepare(now, levels)
		for _, l := range st.links {
			l.add(st.buffers)
		}
	}
	s.leaveOutDiscovered()
	if err := s.startFrame(now, s.cfg.Sync && given); first == nil {
		first = err
	}
	if fault := s.LinkFault(); fault != nil {
		first = fmt.Errorf("artnet: %w", fault)
	}
	return first
}

// updateNodes stores the nodes found since the last frame, and requests a poll when
// one is due.
func (s *Sender) updateNodes(now clock.Time) {
	for range cap(s.discovery.found) {
		select {
		case n := <-s.discovery.found:
			s.newRoutes = s.nodes.update(now, n) || s.newRoutes
			continue
		default:
		}
		break
	}
	s.newRoutes = s.nodes.expire(s.discovery.polls.Load()) || s.newRoutes
	if s.newRoutes && (now-s.routesAt >= routesEvery || now < s.routesAt) {
		s.newRoutes, s.routesAt = false, now
		s.updateRoutes()
	}
	s.discovery.allowAnswers()
	if now >= s.nextPoll || s.nextPoll-now > pollEvery+pollJitter {
		s.nextPoll = now + pollEvery + clock.Time(rand.Int64N(int64(pollJitter)))
		s.lastPoll = now
		s.discovery.poll()
	}
}

// Nodes lists the nodes that have answered and the patched ones, in order of address
// and BindIndex. It is for display: a patched node that does not answer still gets its
// data.
func (s *Sender) Nodes(now clock.Time) []Node { return s.nodes.list(now) }

// Counts returns the counts since the start.
func (s *Sender) Counts() Counts {
	c := &s.counts
	return Counts{c.sent.Load(), c.lost.Load(), c.reopened.Load(), c.attempts.Load(), c.leftOut.Load()}
}

// Sequences calls give with each universe's Port-Address and the sequence number of its
// next packet, 1..255. Only the goroutine that sends may call it. It allocates nothing.
func (s *Sender) Sequences(give func(portAddress uint16, next uint8)) {
	for i := range s.streams {
		give(s.cfg.Universes[i].PortAddress, NextSequence(s.streams[i].packet[offSequence]))
	}
}

// Describe returns the destinations, one line for each universe, to show at the
// start.
func (s *Sender) Describe() string { return s.cfg.describe() }

// Warning returns the present fault of discovery, "" if none. Patched nodes get
// their data in any case.
func (s *Sender) Warning() string {
	if s.discovery == nil {
		return ""
	}
	return s.discovery.warning.load()
}

// Close ends discovery and closes every socket. It sends nothing new, because Art-Net
// has no packet that ends a stream: nodes hold their last levels or, after a delay,
// follow their own setting for loss of data.
func (s *Sender) Close() error {
	if s.closed {
		return nil
	}
	s.closed = true
	s.sendRest(s.frame.due)
	if s.discovery != nil {
		s.discovery.close()
	}
	if s.watch != nil {
		s.watch.Close()
	}
	for _, l := range slices.Concat(s.links, s.syncLinks) {
		l.close()
	}
	return nil
}
