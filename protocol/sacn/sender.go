package sacn

import (
	"cmp"
	"errors"
	"fmt"
	"net"
	"net/netip"
	"slices"

	"golang.org/x/net/ipv4"

	"tactus/clock"
	"tactus/protocol/dmx"
	"tactus/protocol/udp"
)

// Sender is a source of E1.31 data. Only one goroutine may use it.
type Sender struct {
	config    SenderConfig
	sendsFrom string // for Describe
	open      func() (udp.Conn, error)
	conn      udp.Conn
	streams   []stream // lowest universe first
	sync      []ipv4.Message
	syncData  []byte // the sync packet; nil without synchronization
	lists     announcer
	announce  bool
	batch     batch
	retry     backoff
	failing   bool           // the last frame found the socket gone
	links     *udp.LinkWatch // nil with SenderConfig.Open
	changes   uint32         // of links, when the socket was last opened for a change
	stats     SenderStats
	closed    bool

	frame       frame
	syncStates  []syncState // of sync
	withoutSync bool        // no sync packets: see SetPriority
}

// SenderStats counts since the start.
type SenderStats struct {
	Packets  uint64 // sent; a packet to two destinations counts twice
	Failed   uint64 // not sent
	Reopened uint64 // times that the socket was opened again
	Withheld uint64 // sync packets not sent, because data before them was not: see Send
	Attempts uint64 // times that this was tried
}

// NewSender checks the configuration, finds the interface and opens a socket.
// It sends nothing yet. The error lists all faults.
func NewSender(config SenderConfig) (*Sender, error) {
	c, err := config.normalize()
	if err != nil {
		return nil, err
	}
	s := &Sender{config: c, open: c.Open, sendsFrom: "the default route", announce: c.needsInterface()}
	if s.announce && c.Open == nil {
		n, err := udp.Choose(c.Interface)
		if err != nil {
			return nil, fmt.Errorf("sacn: %w", err)
		}
		s.config.Interface, s.sendsFrom = n.Name, n.String()
	}
	packets := 0
	for i := range s.config.Universes {
		s.streams = append(s.streams, newStream(&s.config, &s.config.Universes[i]))
		packets += len(s.streams[i].messages)
	}
	s.orderStreams()
	s.lists = newAnnouncer(&s.config)
	s.addSync()
	if s.open == nil {
		s.open = func() (udp.Conn, error) { return s.config.openConn(packets) }
	}
	if s.conn, err = s.open(); err != nil {
		return nil, fmt.Errorf("sacn: opening a socket: %w", err)
	}
	if c.Open == nil {
		s.links = s.config.watchLinks()
	}
	return s, nil
}

// addSync prepares the sync packet. It goes to the group of its address (6.3.3.1) if
// any universe is multicast, and once to each unicast destination.
func (s *Sender) addSync() {
	if s.config.Sync == 0 {
		return
	}
	p := SyncPacket{CID: s.config.CID, Address: s.config.Sync, Sequence: s.config.SyncSequence - 1}
	s.syncData = p.AppendTo(nil)
	var to []netip.AddrPort
	for i := range s.config.Universes {
		u := &s.config.Universes[i]
		to = append(to, u.Destinations...)
		if u.multicast() {
			to = append(to, netip.AddrPortFrom(Group(s.config.Sync), Port))
		}
	}
	slices.SortFunc(to, netip.AddrPort.Compare)
	for _, a := range slices.Compact(to) {
		s.sync = append(s.sync, udp.Message(s.syncData, a))
	}
	s.syncStates = make([]syncState, len(s.sync))
}

// Describe returns lines to show at the start: the interface and its address, then
// each universe with its destinations, priority and rate.
func (s *Sender) Describe() string { return s.config.describe(s.sendsFrom) }

// Sequences calls give with each universe and the sequence number of its next packet,
// then with universe 0 and that of the next sync packet. It allocates nothing.
func (s *Sender) Sequences(give func(universe uint16, next uint8)) {
	for i := range s.streams {
		give(s.config.Universes[i].Number, s.streams[i].packet[offSequence]+1)
	}
	if s.syncData != nil {
		give(0, s.syncData[offSyncSequence]+1)
	}
}

// Stats returns the counts since the start.
func (s *Sender) Stats() SenderStats { return s.stats }

// Send sends the universes that are due at now, each at most 44 times a second. Call
// it once a frame. It tries every universe and destination, lowest universe first,
// and returns the first error, a *SendError. When the interface is missing, it tries
// to open the socket again: at once when the system reports a change of interfaces,
// addresses or routes, else after a quarter of a second and later every two seconds.
// Sequence numbers and CID continue. While an interface has no carrier, the error is
// a *udp.LinkError, and unicast packets that would leave by it are held back.
//
// only marks by index which universes of u may be sent in this call; nil is all. It
// is as long as u. A universe that is not marked keeps its rate and keep-alive,
// which count only the calls that mark it. A sync packet follows the data of every
// call with data, so pass synchronized universes in the same calls. Receivers do not get
// it if data for them could not be sent, for half a second at most.
//
// A frame that is large for SenderConfig.Spread leaves by SendSlice, which the caller calls
// when NextSlice says so. What is left of it leaves with the next Send or Close. An error
// of these is returned by the next Send.
//
// Send allocates nothing unless something fails.
func (s *Sender) Send(now clock.Time, u []dmx.Universe, only []bool) error {
	if s.closed {
		return net.ErrClosed
	}
	s.reopenAfterChange()
	var missing error
	s.sendRest()
	s.batch.reset()
	for i := range s.streams {
		st := &s.streams[i]
		if st.source >= len(u) {
			if missing == nil {
				missing = s.noSource(i, len(u))
			}
			continue
		}
		if only != nil && !only[st.source] {
			continue
		}
		if st.prepare(now, &u[st.source]) {
			s.batch.add(i, st.messages)
		}
	}
	if s.syncData != nil && !s.withoutSync && len(s.batch.messages) > 0 {
		s.syncData[offSyncSequence]++ // has its own sequence number (6.3.2)
		s.batch.addSync(s.sync)
	}
	if s.announce && s.lists.due(now) {
		s.batch.add(listOwner, s.lists.pages)
	}
	held := s.holdBack()
	o := s.startFrame(now)
	if s.failing = o.gone; o.gone {
		if s.retry.due(now) {
			s.reopen()
		}
	} else if o.first == nil {
		s.retry.reset()
	}
	return cmp.Or(held, o.first, missing)
}

func (s *Sender) noSource(i, have int) error {
	return fmt.Errorf("sacn: universe %d: source %d, have %d universes", s.config.Universes[i].Number, s.streams[i].source, have)
}

// openConn opens a socket that multicasts by the configured interface, or without
// one, a socket for unicast only. It looks the interface up each time, because its
// number or address may have changed. packets is the number of packets in a frame.
func (c *SenderConfig) openConn(packets int) (udp.Conn, error) {
	n, from := &udp.Interface{}, netip.IPv4Unspecified()
	if c.Interface != "" {
		var err error
		if n, err = udp.Choose(c.Interface); err != nil {
			return nil, err
		}
		// The address is the source address of the packets. It does not choose their
		// route: Linux sends unicast by its routes, and multicast by the interface
		// set below.
		from = n.Networks[0].Addr()
	}
	conn, err := udp.Listen(netip.AddrPortFrom(from, 0), "", false)
	if err != nil {
		return nil, err
	}
	if c.Interface != "" {
		p := ipv4.NewPacketConn(conn)
		// Loopback lets monitors on this machine receive our packets.
		if err := errors.Join(p.SetMulticastInterface(&n.Interface), p.SetMulticastTTL(c.TTL), p.SetMulticastLoopback(true)); err != nil {
			conn.Close()
			return nil, fmt.Errorf("setting up multicast on %s: %w", n, err)
		}
	}
	// Linux counts some 1.3 kB for a packet and doubles the requested size, so this
	// holds two frames. A larger buffer would only send old levels late when the
	// network is slow.
	udp.GrowSendBuffer(conn, min(max(packets*1536, 64<<10), 4<<20))
	return udp.NewConn(conn, true)
}

// Close ends the streams as OnExit says. With Terminate and Fade, each universe that
// was ever sent ends with exactly three packets with Stream_Terminated set, the last
// levels and consecutive numbers (6.2.6). Then Close sends the empty list of
// universes and closes the socket. A second Close does nothing.
func (s *Sender) Close() error {
	if s.closed {
		return nil
	}
	s.closed = true
	s.sendRest()
	errs := []error{s.frame.late.first}
	write := func() {
		s.frame.late = outcome{}
		s.write(0, len(s.batch.messages))
		errs = append(errs, s.frame.late.first)
	}
	if s.config.OnExit != Hold {
		for range terminations {
			s.batch.reset()
			for i := range s.streams {
				if st := &s.streams[i]; st.started {
					st.terminate()
					st.countUp()
					s.batch.add(i, st.messages)
				}
			}
			write()
		}
	}
	if s.announce && s.lists.started {
		s.batch.reset()
		s.batch.add(listOwner, s.lists.empty)
		write()
	}
	if s.links != nil {
		s.links.Close()
	}
	errs = append(errs, s.conn.Close())
	return errors.Join(errs...)
}
