package artnet

import (
	"errors"
	"fmt"
	"net"
	"net/netip"

	"golang.org/x/net/ipv4"

	"tactus/clock"
	"tactus/protocol/udp"
)

// Waits before a failed socket is opened again.
const (
	firstBackoff = 100 * clock.Millisecond
	lastBackoff  = clock.Second
)

// opener opens a socket to a link's destination and returns the address for its
// packets; a broadcast link gets its address only then.
type opener func(to netip.AddrPort, broadcast bool) (udp.Conn, netip.AddrPort, error)

// link is one destination and its own socket. Packets for an unplugged node wait in
// the kernel for its ARP answer and fill the buffer of their socket; with a shared
// socket they would delay every other node.
type link struct {
	to        netip.AddrPort // unspecified address for the broadcast link
	broadcast bool
	addr      *net.UDPAddr // address of the packets; messages point to it
	conn      udp.Conn     // nil until opened
	batch     []ipv4.Message
	retryAt   clock.Time // earliest time to open it again
	backoff   clock.Time
	openErr   error
	tried     int  // messages of the batch
	lost      bool // a packet of the present frame was not sent
	some      bool // a packet of the present frame was sent
	withheld  int  // ArtSyncs in a row that were not sent
	failing   bool // nothing was sent in the last frame, and not for want of room
	retryNow  bool // something changed: open it again before the next frame is sent
	counts    *counts
}

func newLink(to netip.AddrPort, broadcast bool, c *counts) *link {
	return &link{to: to, broadcast: broadcast, addr: net.UDPAddrFromAddrPort(to), counts: c}
}

// add adds one packet to the batch.
func (l *link) add(buffers [][]byte) {
	l.batch = append(l.batch, ipv4.Message{Buffers: buffers, Addr: l.addr})
}

// flush sends the batch up to a message. It tries every packet and returns the first
// error. If the socket sent nothing, flush opens it again for the next frame.
func (l *link) flush(now clock.Time, open opener, upTo int) error {
	ms := l.batch[min(l.tried, upTo):upTo]
	l.tried = max(l.tried, upTo)
	if len(ms) == 0 {
		return nil
	}
	if l.conn == nil || l.retryNow {
		l.reopen(now, open)
	}
	if l.conn == nil {
		l.failing = true
		l.counts.lost.Add(uint64(len(ms)))
		return fmt.Errorf("artnet: %s to %v: %w", packetName(ms[0].Buffers[0]), l.to, l.openErr)
	}
	var first error
	sent := udp.Write(l.conn, ms, func(i int, err error) {
		if first == nil {
			first = fmt.Errorf("artnet: %s to %v: %w", packetName(ms[i].Buffers[0]), l.addr, err)
		}
	})
	l.counts.sent.Add(uint64(sent))
	l.counts.lost.Add(uint64(len(ms) - sent))
	l.failing = false
	switch {
	case sent > 0:
		l.some = true
		l.backoff, l.retryAt = 0, 0
	case !errors.Is(first, udp.ErrFull): // a full buffer needs no new socket
		l.failing = true
		l.reopen(now, open)
	}
	return first
}

// linksChanged lets a failing link open its socket again at once.
func (l *link) linksChanged() {
	if l.failing {
		l.retryNow, l.retryAt, l.backoff = true, 0, 0
	}
}

// errNoCarrier is why a packet is held back.
var errNoCarrier = errors.New("the interface has no carrier")

// holdBack empties the batch without sending the rest of it, and returns an error with the
// first packet of that rest. There must be one.
func (l *link) holdBack() error {
	first := l.batch[l.tried].Buffers[0]
	l.counts.lost.Add(uint64(len(l.batch) - l.tried))
	l.batch = l.batch[:0]
	return fmt.Errorf("artnet: %s to %v: %w", packetName(first), l.to, errNoCarrier)
}

// reopen replaces the socket, at most once in each backoff. If that fails it keeps
// the old one, which may recover.
func (l *link) reopen(now clock.Time, open opener) {
	if now < l.retryAt {
		return
	}
	l.backoff = min(max(2*l.backoff, firstBackoff), lastBackoff)
	l.retryAt = now + l.backoff
	l.retryNow = false
	if l.conn != nil || l.openErr != nil {
		l.counts.attempts.Add(1)
	}
	conn, to, err := open(l.to, l.broadcast)
	if err != nil {
		l.openErr = err
		return
	}
	l.openErr = nil
	if l.conn != nil {
		l.counts.reopened.Add(1)
	}
	l.close()
	l.conn = conn
	*l.addr = *net.UDPAddrFromAddrPort(to)
}

func (l *link) close() {
	if l.conn != nil {
		l.conn.Close()
		l.conn = nil
	}
}

// packetName returns the name of a sent packet for errors.
func packetName(b []byte) string {
	var d Dmx
	if d.Parse(b) == nil {
		return fmt.Sprintf("port-address %d", d.PortAddress)
	}
	return "ArtSync"
}
