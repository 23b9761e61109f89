package artnet

import (
	"fmt"
	"net"
	"net/netip"
	"sync"
	"sync/atomic"

	"tactus/protocol/udp"
)

const (
	// foundDepth is how many replies can wait for the next frame.
	foundDepth = 64
	// answersPerFrame limits the answers to polls between two frames, so that a
	// flood of polls causes no flood of answers.
	answersPerFrame = 8
)

// discovery polls and listens in two goroutines, because the frame loop must not
// wait for the system's list of interfaces or for replies.
type discovery struct {
	cfg *SenderConfig
	refusals
	links   *udp.LinkWatch // nil in tests
	polls   atomic.Uint64  // rounds sent while the links had no fault
	pollDue chan struct{}
	found   chan Node    // nodes that answered; dropped when full, because each node replies again
	answers atomic.Int32 // answers still allowed in this frame
	warning warning
	wg      sync.WaitGroup

	mu          sync.Mutex // guards the fields below
	conn        *net.UDPConn
	connWarning string // fault of conn, "" if none
	closed      bool
}

func newDiscovery(cfg *SenderConfig, patched []netip.AddrPort, links *udp.LinkWatch) *discovery {
	d := &discovery{
		cfg: cfg, refusals: refusals{patched: patched}, links: links,
		pollDue: make(chan struct{}, 1), found: make(chan Node, foundDepth),
	}
	d.wg.Go(d.run)
	return d
}

// poll requests one poll; it does not wait.
func (d *discovery) poll() {
	select {
	case d.pollDue <- struct{}{}:
	default:
	}
}

// allowAnswers allows the answers of one more frame.
func (d *discovery) allowAnswers() { d.answers.Store(answersPerFrame) }

// close ends both goroutines. No method may be called after it.
func (d *discovery) close() {
	d.mu.Lock()
	d.closed = true
	if d.conn != nil {
		d.conn.Close()
	}
	d.mu.Unlock()
	close(d.pollDue)
	d.wg.Wait()
}

func (d *discovery) run() {
	request := Poll{Flags: PollReplyOnChange}
	packet := request.AppendTo(nil)
	for range d.pollDue {
		d.warning.store(d.pollOnce(packet))
	}
}

// pollOnce sends one round of polls and returns a fault, "" if none. When nothing
// can be sent, the socket may belong to an adapter that was unplugged and plugged in
// again: pollOnce opens a new socket and sends again.
func (d *discovery) pollOnce(packet []byte) string {
	targets, err := d.targets()
	if err != nil {
		return err.Error()
	}
	var note string
	for range 2 {
		conn, state, err := d.socket()
		if err != nil {
			return err.Error()
		}
		note = state
		sent := 0
		for _, to := range targets {
			if _, err := conn.WriteToUDPAddrPort(packet, to); err != nil {
				note = fmt.Sprintf("poll to %v: %v", to, err)
				continue
			}
			sent++
		}
		if sent > 0 && (d.links == nil || d.links.Fault() == nil) {
			d.polls.Add(1)
		}
		if sent > 0 || len(targets) == 0 {
			break
		}
		d.closeConn(conn)
	}
	return note
}

// targets returns the addresses to poll: the directed broadcast address of every
// network of the interface, looked up each time because addresses change, and the
// patched nodes outside these networks.
func (d *discovery) targets() ([]netip.AddrPort, error) {
	if d.cfg.Interface == "" {
		networks, err := udp.Networks()
		d.networks.Store(&networks)
		return d.patched, err
	}
	n, err := udp.Choose(d.cfg.Interface)
	if err != nil {
		return nil, err
	}
	d.networks.Store(&n.Networks)
	var list []netip.AddrPort
	for _, p := range n.Networks {
		if all, ok := udp.Broadcast(p); ok {
			list = append(list, netip.AddrPortFrom(all, uint16(d.cfg.NodePort)))
		}
	}
	for _, p := range d.patched {
		if !n.Reaches(p.Addr()) {
			list = append(list, p)
		}
	}
	return list, nil
}

// socket returns the open socket, or opens one and starts its reader. note warns
// when another program shares the port, because replies may then not arrive.
func (d *discovery) socket() (conn *net.UDPConn, note string, err error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.closed {
		return nil, "", net.ErrClosed
	}
	if d.conn != nil {
		return d.conn, d.connWarning, nil
	}
	local := netip.AddrPortFrom(netip.IPv4Unspecified(), uint16(d.cfg.BindPort))
	conn, shared, err := udp.ListenShared(local, d.cfg.Interface)
	if shared {
		note = fmt.Sprintf("port %d is shared with another program, which may get the replies of nodes", d.cfg.BindPort)
	}
	if err != nil && d.cfg.BindPort != 0 {
		busy := err
		conn, err = udp.Listen(netip.AddrPortFrom(local.Addr(), 0), d.cfg.Interface, false)
		if err == nil {
			note = fmt.Sprintf("port %d cannot be opened (%v): polling from port %d, which nodes may not answer to",
				d.cfg.BindPort, busy, conn.LocalAddr().(*net.UDPAddr).Port)
		}
	}
	if err != nil {
		return nil, "", err
	}
	d.conn, d.connWarning = conn, note
	d.wg.Go(func() { d.read(conn) })
	return conn, note, nil
}

// closeConn closes conn, so that the next poll opens another.
func (d *discovery) closeConn(conn *net.UDPConn) {
	d.mu.Lock()
	defer d.mu.Unlock()
	conn.Close()
	if d.conn == conn {
		d.conn = nil
	}
}

// read handles packets until conn is closed or fails; after a failure the next poll
// opens another socket.
func (d *discovery) read(conn *net.UDPConn) {
	err := udp.Receive(conn, maxPacket, func(from netip.AddrPort, b []byte) { d.handle(conn, b, from) })
	if err != nil {
		d.closeConn(conn)
	}
}

func (d *discovery) handle(conn *net.UDPConn, b []byte, from netip.AddrPort) {
	op, err := OpCodeOf(b)
	if err != nil {
		return
	}
	switch op {
	case OpPollReply:
		var reply PollReply
		if len(d.found) == cap(d.found) {
			return // a flood: the rest costs as little as possible
		}
		if reply.Parse(b) == nil && !d.refuse(from.Addr(), &reply) {
			select {
			case d.found <- newNode(from.Addr(), &reply):
			default:
			}
		}
	case OpPoll:
		var request Poll
		if request.Parse(b) != nil || request.Flags&PollTargeted != 0 {
			return // a targeted poll asks for ports, and this program has none
		}
		if d.answers.Add(-1) < 0 {
			return
		}
		conn.WriteToUDPAddrPort(d.answer(from).AppendTo(nil), from)
	}
}

// answer returns the reply to a poll from the given address. A controller must
// answer too, even its own poll (Art-Net 4, ArtPoll).
func (d *discovery) answer(from netip.AddrPort) *PollReply {
	p := &PollReply{
		Addr:        d.ownAddr(from),
		Port:        Port,
		OEM:         0x00FF, // unknown
		ESTA:        0x7FF0, // range for prototypes
		ShortName:   d.cfg.Name,
		LongName:    d.cfg.Name + ", light locked to the music",
		Report:      "#0001 [0000] sending",
		Style:       StyleController,
		BindIndex:   1,
		Status2:     0x08, // 15-bit Port-Addresses
		RefreshRate: 44,
	}
	if d.cfg.Interface != "" {
		if n, err := udp.Choose(d.cfg.Interface); err == nil {
			copy(p.MAC[:], n.HardwareAddr)
		}
	}
	p.BindAddr = p.Addr
	return p
}

// ownAddr returns the local address used towards a peer. Connecting a UDP socket
// sends nothing, but makes the system choose the address.
func (d *discovery) ownAddr(from netip.AddrPort) netip.Addr {
	conn, err := net.DialUDP("udp4", nil, net.UDPAddrFromAddrPort(from))
	if err != nil {
		return netip.Addr{}
	}
	defer conn.Close()
	return conn.LocalAddr().(*net.UDPAddr).AddrPort().Addr()
}

// warning is the latest fault of discovery.
type warning struct{ text atomic.Pointer[string] }

func (w *warning) store(s string) { w.text.Store(&s) }

func (w *warning) load() string {
	if s := w.text.Load(); s != nil {
		return *s
	}
	return ""
}
