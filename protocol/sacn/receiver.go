package sacn

import (
	"context"
	"errors"
	"fmt"
	"net"
	"net/netip"
	"slices"
	"sync"

	"golang.org/x/net/ipv4"

	"tactus/clock"
	"tactus/protocol/udp"
)

// ReceiverConfig configures a Receiver.
type ReceiverConfig struct {
	// Interface is the name of the network interface to receive multicast from. It
	// may be empty when no group is joined, or when only one interface can
	// multicast. The groups are joined again whenever it was gone, changed its address
	// or lost its cable.
	Interface string
	// Wait takes a named interface that is not there yet, or is down: the groups are
	// joined as soon as it can receive. Without it that is an error.
	Wait      bool
	Universes []uint16 // groups to join: for data, and for sync packets by their address
	Port      uint16   // 0 = 5568; unicast arrives here too
	Clock     clock.Base
}

// Packet is one received datagram. Exactly one of Data, Sync, Discovery and Err is
// set. The packet that it points to is reused for the next datagram.
type Packet struct {
	At        clock.Time
	From      netip.AddrPort
	Data      *DataPacket
	Sync      *SyncPacket
	Discovery *DiscoveryPacket
	Err       error // why the datagram is discarded
}

// joinsPerSocket is Linux's default for igmp_max_memberships, the greatest number of
// joins on a socket.
const joinsPerSocket = 20

// receiveBuffer is in octets and holds about 3,000 full packets.
const receiveBuffer = 4 << 20

// Receiver listens for E1.31 packets.
type Receiver struct {
	base  clock.Base
	conns []*net.UDPConn
	joins []groupJoin
	links *udp.LinkWatch // nil where no group is joined

	joined joinState // when the groups were last joined, or left for want of the interface
}

// NewReceiver opens the sockets, which other programs may share, and joins the
// groups, spread over several sockets. A failed join is an error.
func NewReceiver(c ReceiverConfig) (*Receiver, error) {
	if c.Port == 0 {
		c.Port = Port
	}
	groups := slices.Clone(c.Universes)
	slices.Sort(groups)
	groups = slices.Compact(groups)
	for _, u := range groups {
		if u < MinUniverse || u > MaxUniverse {
			return nil, fmt.Errorf("%w: %d, need %d..%d", ErrUniverse, u, MinUniverse, MaxUniverse)
		}
	}
	r := &Receiver{base: c.Clock}
	if err := r.listen(&c, groups); err != nil {
		r.closeAll()
		return nil, fmt.Errorf("sacn: %w", err)
	}
	return r, nil
}

func (r *Receiver) listen(c *ReceiverConfig, groups []uint16) error {
	name := c.Interface
	if name == "" && len(groups) > 0 || name != "" && !c.Wait {
		n, err := udp.Choose(name)
		if err != nil {
			return err
		}
		name = n.Name
	}
	for first := true; first || len(groups) > 0; first = false {
		// The socket is not bound to an interface's address or a group, because that
		// blocks multicast on some systems and fails on others. Joins choose the
		// interface.
		conn, err := udp.Listen(netip.AddrPortFrom(netip.IPv4Unspecified(), c.Port), "", true)
		if err != nil {
			return err
		}
		conn.SetReadBuffer(receiveBuffer) // the system may grant less
		r.conns = append(r.conns, conn)
		joins := min(len(groups), joinsPerSocket)
		for _, u := range groups[:joins] {
			r.joins = append(r.joins, groupJoin{conn: ipv4.NewPacketConn(conn), universe: u})
		}
		groups = groups[joins:]
	}
	if name == "" {
		return nil
	}
	r.links = udp.NewLinkWatch(name, nil)
	if f := r.links.Fault(); f != nil && c.Wait {
		return nil // Run joins when it can
	}
	return r.join()
}

// Run calls handle for every packet, good or bad, one at a time, until ctx ends;
// then it closes the sockets and returns nil. It stamps each packet as it reads it.
// It returns an error when a socket can no longer be read.
func (r *Receiver) Run(ctx context.Context, handle func(Packet)) error {
	defer context.AfterFunc(ctx, r.close)()
	ctx, cancel := context.WithCancel(ctx)
	var joining sync.WaitGroup
	joining.Go(func() { r.keepJoined(ctx) })
	defer joining.Wait()
	defer cancel()
	var one sync.Mutex // handle sees one packet at a time
	var readers sync.WaitGroup
	failures := make([]error, len(r.conns))
	for i, c := range r.conns {
		readers.Go(func() {
			var d decoder
			failures[i] = udp.Receive(c, MaxPacket, func(from netip.AddrPort, b []byte) {
				at := r.base.Now()
				p := d.decode(b)
				p.At, p.From = at, from
				one.Lock()
				defer one.Unlock()
				handle(p)
			})
			r.close() // one failed socket ends all
		})
	}
	readers.Wait()
	return errors.Join(failures...)
}

func (r *Receiver) close() {
	for _, c := range r.conns {
		c.Close()
	}
}

// closeAll is close for a receiver that does not run.
func (r *Receiver) closeAll() {
	r.close()
	if r.links != nil {
		r.links.Close()
	}
}

// decoder holds the packets that are reused.
type decoder struct {
	data      DataPacket
	sync      SyncPacket
	discovery DiscoveryPacket
}

func (d *decoder) decode(b []byte) Packet {
	kind, err := KindOf(b)
	if err != nil {
		return Packet{Err: err}
	}
	var p Packet
	switch kind {
	case Data:
		p.Data, p.Err = &d.data, d.data.Parse(b)
	case Sync:
		p.Sync, p.Err = &d.sync, d.sync.Parse(b)
	case Discovery:
		p.Discovery, p.Err = &d.discovery, d.discovery.Parse(b)
	}
	if p.Err != nil {
		return Packet{Err: p.Err}
	}
	return p
}
