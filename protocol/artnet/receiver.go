package artnet

import (
	"context"
	"fmt"
	"net"
	"net/netip"
	"sync"

	"tactus/clock"
	"tactus/protocol/udp"
)

// ReceiverConfig configures a Receiver.
type ReceiverConfig struct {
	// Listen is the address and port; the zero value means 0.0.0.0:6454. Only the
	// unspecified address receives broadcasts on every system.
	Listen    netip.AddrPort
	Interface string     // name of the interface; "" = all
	Wait      bool       // the named interface may come later; else that is an error
	Base      clock.Base // time base of the packets' stamps
}

// Packet is one received datagram.
type Packet struct {
	At   clock.Time
	From netip.AddrPort
	Op   OpCode // 0 if it is not Art-Net at all
	// Err is the fault of the packet, nil if none; then the field for Op is set.
	// Packets with other OpCodes have no field.
	Err       error
	Dmx       Dmx // Data is valid only until the handler returns
	Poll      Poll
	PollReply PollReply
	Sync      Sync
}

// Decode reads b into p, except At and From. Dmx.Data is a slice of b.
func (p *Packet) Decode(b []byte) {
	*p = Packet{At: p.At, From: p.From}
	if p.Op, p.Err = OpCodeOf(b); p.Err != nil {
		return
	}
	switch p.Op {
	case OpDmx:
		p.Err = p.Dmx.Parse(b)
	case OpPoll:
		p.Err = p.Poll.Parse(b)
	case OpPollReply:
		p.Err = p.PollReply.Parse(b)
	case OpSync:
		p.Err = p.Sync.Parse(b)
	}
}

// Receiver reads Art-Net packets from one socket. With a named interface it opens
// another when the interface was gone and is back, or comes for the first time.
type Receiver struct {
	cfg   ReceiverConfig
	links *udp.LinkWatch // nil without a named interface

	mu     sync.Mutex // guards the fields below
	conn   *net.UDPConn
	index  int           // of the interface that conn is bound to; 0 = none
	opened chan struct{} // receives when conn is replaced
	closed bool
}

// NewReceiver opens the socket, which other programs may share.
func NewReceiver(cfg ReceiverConfig) (*Receiver, error) {
	if !cfg.Listen.IsValid() {
		cfg.Listen = netip.AddrPortFrom(netip.IPv4Unspecified(), Port)
	}
	r := &Receiver{cfg: cfg, opened: make(chan struct{}, 1)}
	if cfg.Interface != "" {
		r.links = udp.NewLinkWatch(cfg.Interface, nil)
		r.index, _, _ = r.links.Link()
		if r.index == 0 && cfg.Wait {
			return r, nil
		}
	}
	conn, err := udp.Listen(cfg.Listen, cfg.Interface, true)
	if err != nil {
		if r.links != nil {
			r.links.Close()
		}
		return nil, fmt.Errorf("artnet: %w", err)
	}
	r.conn = conn
	return r, nil
}

// LinkFault returns what keeps the named interface from receiving, nil if nothing
// does. Any goroutine may call it.
func (r *Receiver) LinkFault() *udp.LinkError {
	if r.links == nil {
		return nil
	}
	return r.links.Fault()
}

// Run calls handle for every packet, good or bad, until ctx ends; then it closes the
// socket and returns nil. It returns an error when the socket can no longer be read.
func (r *Receiver) Run(ctx context.Context, handle func(Packet)) error {
	defer r.close()
	defer context.AfterFunc(ctx, r.close)()
	if r.links != nil {
		ctx, cancel := context.WithCancel(ctx)
		var following sync.WaitGroup
		following.Go(func() { r.followInterface(ctx) })
		defer following.Wait()
		defer cancel()
	}
	var p Packet
	for {
		conn := r.current()
		if conn != nil {
			err := udp.Receive(conn, maxPacket, func(from netip.AddrPort, b []byte) {
				p.At, p.From = r.cfg.Base.Now(), from
				p.Decode(b)
				handle(p)
			})
			if err != nil {
				return fmt.Errorf("artnet: %w", err)
			}
		}
		if ctx.Err() != nil || r.links == nil {
			return nil
		}
		select {
		case <-ctx.Done():
		case <-r.opened:
		}
	}
}

func (r *Receiver) current() *net.UDPConn {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.conn
}

// followInterface opens a new socket each time that the interface comes with another
// number, until ctx ends: the old one is bound to the number that is gone.
func (r *Receiver) followInterface(ctx context.Context) {
	defer r.links.Close()
	for {
		index, _, _ := r.links.Link()
		r.mu.Lock()
		switch {
		case r.closed || index == r.index:
		case index == 0:
			r.index = 0
		default:
			r.replace(index)
		}
		r.mu.Unlock()
		select {
		case <-ctx.Done():
			return
		case <-r.links.Changed():
		}
	}
}

// replace opens a new socket; if that fails, the next change tries again. The caller
// holds mu.
func (r *Receiver) replace(index int) {
	conn, err := udp.Listen(r.cfg.Listen, r.cfg.Interface, true)
	if err != nil {
		return
	}
	if r.conn != nil {
		r.conn.Close()
	}
	r.conn, r.index = conn, index
	select {
	case r.opened <- struct{}{}:
	default:
	}
}

func (r *Receiver) close() {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.closed = true
	if r.conn != nil {
		r.conn.Close()
	}
}
