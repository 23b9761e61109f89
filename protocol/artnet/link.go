package artnet

import (
	"errors"
	"fmt"
	"net"
	"net/netip"
	"syscall"

	"golang.org/x/net/ipv4"

	"tactus/clock"
)

// Waits before a socket that failed is opened anew.
const (
	firstBackoff = 100 * clock.Millisecond
	lastBackoff  = clock.Second
)

var (
	errFull  = errors.New("send buffer is full")
	errStuck = errors.New("socket takes nothing")
)

// opener opens a socket toward a link's destination and says where the packets
// must go; for a broadcast link that is known only then.
type opener func(to netip.AddrPort, broadcast bool) (batchConn, netip.AddrPort, error)

// link is one destination with a socket of its own. Packets for a node that is
// unplugged wait in the kernel for its ARP answer and fill the buffer of their
// socket; on a shared one they would hold up every other node.
type link struct {
	to        netip.AddrPort // unspecified address for the broadcast link
	broadcast bool
	addr      *net.UDPAddr // where packets go; messages point to it
	conn      batchConn    // nil until opened
	batch     []ipv4.Message
	retryAt   clock.Time // not opened anew before
	backoff   clock.Time
	openErr   error
	counts    *counts
}

func newLink(to netip.AddrPort, broadcast bool, c *counts) *link {
	return &link{to: to, broadcast: broadcast, addr: net.UDPAddrFromAddrPort(to), counts: c}
}

// add puts one packet into the batch.
func (l *link) add(buffers [][]byte) {
	l.batch = append(l.batch, ipv4.Message{Buffers: buffers, Addr: l.addr})
}

// flush sends the batch and empties it. It tries every packet and returns the
// first error; a socket through which nothing went is opened anew for the next
// frame.
func (l *link) flush(now clock.Time, open opener) error {
	ms := l.batch
	l.batch = l.batch[:0]
	if len(ms) == 0 {
		return nil
	}
	if l.conn == nil {
		l.reopen(now, open)
	}
	if l.conn == nil {
		l.counts.lost.Add(uint64(len(ms)))
		return fmt.Errorf("artnet: %s to %v: %w", packetName(ms[0].Buffers[0]), l.to, l.openErr)
	}
	sent, err := l.write(ms)
	l.counts.sent.Add(uint64(sent))
	l.counts.lost.Add(uint64(len(ms) - sent))
	switch {
	case sent > 0:
		l.backoff, l.retryAt = 0, 0
	case !errors.Is(err, errFull):
		l.reopen(now, open)
	}
	return err
}

// write loops until every message is out or was refused: a batch may be short,
// and the error of message n hides until the batch starts with it.
func (l *link) write(ms []ipv4.Message) (sent int, first error) {
	for len(ms) > 0 {
		n, err := l.conn.WriteBatch(ms)
		sent += n
		ms = ms[n:]
		if n > 0 && err == nil {
			continue
		}
		if len(ms) == 0 {
			break
		}
		full := errors.Is(err, syscall.EAGAIN) || errors.Is(err, syscall.ENOBUFS)
		if first == nil {
			switch {
			case full:
				err = errFull
			case err == nil:
				err = errStuck
			}
			first = fmt.Errorf("artnet: %s to %v: %w", packetName(ms[0].Buffers[0]), l.addr, err)
		}
		if full {
			break // the rest would meet the same: light goes on with the next frame
		}
		ms = ms[1:]
	}
	return sent, first
}

// reopen replaces the socket, at most once a backoff. The old one stays in use
// if that fails: what ails it may pass by itself.
func (l *link) reopen(now clock.Time, open opener) {
	if now < l.retryAt {
		return
	}
	l.backoff = min(max(2*l.backoff, firstBackoff), lastBackoff)
	l.retryAt = now + l.backoff
	conn, to, err := open(l.to, l.broadcast)
	if err != nil {
		l.openErr = err
		return
	}
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

// packetName says what b, a packet of ours, is: errors name the Port-Address.
func packetName(b []byte) string {
	var d Dmx
	if d.Parse(b) == nil {
		return fmt.Sprintf("port-address %d", d.PortAddress)
	}
	return "ArtSync"
}
