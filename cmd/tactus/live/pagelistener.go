package live

import (
	"net"
	"net/netip"
	"sync"
)

// Limits of the page's connections.
const (
	maxPages        = 300 // in all
	keptForThisHost = 40  // of them, for this computer alone
	maxPagesOfOne   = 64  // from one other address: a tablet opens six at most for a page
)

// pageListener accepts connections within those limits and closes those beyond them at
// once, so that no other computer makes the page unreachable.
type pageListener struct {
	*net.TCPListener

	mu     sync.Mutex
	all    int
	others map[netip.Prefix]int // connections from other computers, by address
	ofAll  int                  // sum of others
}

// newPageListener limits a listener's connections.
func newPageListener(l *net.TCPListener) *pageListener {
	return &pageListener{TCPListener: l, others: map[netip.Prefix]int{}}
}

// pageBuffer is the size of a connection's buffer in the system: small, so that a browser
// that does not read is noticed within seconds.
const pageBuffer = 64 << 10

// Accept implements [net.Listener].
func (l *pageListener) Accept() (net.Conn, error) {
	for {
		c, err := l.AcceptTCP()
		if err != nil {
			return nil, err
		}
		from := netip.Addr{}
		if at, ok := c.RemoteAddr().(*net.TCPAddr); ok {
			from = at.AddrPort().Addr().Unmap()
		}
		leave, ok := l.enter(from)
		if !ok {
			c.Close()
			continue
		}
		_ = c.SetWriteBuffer(pageBuffer) // the system's own size does as well, later
		return &countedConnection{Conn: c, leave: leave}, nil
	}
}

// enter counts a connection, unless there are too many; leave ends it.
func (l *pageListener) enter(from netip.Addr) (leave func(), ok bool) {
	l.mu.Lock()
	defer l.mu.Unlock()
	own, who := from.IsLoopback(), hostPrefix(from)
	if l.all >= maxPages || !own && (l.ofAll >= maxPages-keptForThisHost || l.others[who] >= maxPagesOfOne) {
		return nil, false
	}
	l.all++
	if !own {
		l.ofAll++
		l.others[who]++
	}
	return func() {
		l.mu.Lock()
		defer l.mu.Unlock()
		l.all--
		if own {
			return
		}
		l.ofAll--
		if l.others[who]--; l.others[who] == 0 {
			delete(l.others, who)
		}
	}, true
}

// hostPrefix is what one computer has for addresses: an IPv4 address, or the 64 bits of
// IPv6 below which it chooses its own (RFC 4291, 2.5.1).
func hostPrefix(a netip.Addr) netip.Prefix {
	bits := 32
	if a.Is6() {
		bits = 64
	}
	p, _ := a.WithZone("").Prefix(bits) // an address that is not valid has none
	return p
}

// countedConnection leaves its listener's count when it is closed.
type countedConnection struct {
	net.Conn
	once  sync.Once
	leave func()
}

// Close implements [net.Conn].
func (c *countedConnection) Close() error {
	defer c.once.Do(c.leave)
	return c.Conn.Close()
}
