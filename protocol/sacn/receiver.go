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

// ReceiverConfig says what a Receiver listens to.
type ReceiverConfig struct {
	// Interface names the network interface to receive multicast from. It may be
	// empty when nothing is joined, or when only one interface can multicast.
	Interface string
	Universes []uint16 // whose groups are joined: data, and sync packets by their address
	Port      uint16   // 0 = 5568; unicast arrives here too
	Clock     clock.Base
}

// Packet is one datagram as it arrived. Exactly one of Data, Sync, Discovery
// and Err is set. The packet that is pointed to is used again for the next one.
type Packet struct {
	At        clock.Time
	From      netip.AddrPort
	Data      *DataPacket
	Sync      *SyncPacket
	Discovery *DiscoveryPacket
	Err       error // why the datagram is discarded
}

// joinsPerSocket is Linux's default for igmp_max_memberships: one more join on
// the same socket fails.
const joinsPerSocket = 20

// receiveBuffer, in octets, holds about 3,000 full packets.
const receiveBuffer = 4 << 20

// Receiver listens for E1.31 packets.
type Receiver struct {
	base  clock.Base
	conns []*net.UDPConn
}

// NewReceiver opens the sockets, which other programs may share, and joins the
// groups, spread over several sockets. A join that fails is an error.
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
	if err := r.listen(c.Interface, c.Port, groups); err != nil {
		r.close()
		return nil, fmt.Errorf("sacn: %w", err)
	}
	return r, nil
}

func (r *Receiver) listen(name string, port uint16, groups []uint16) (err error) {
	var n *udp.Interface
	if len(groups) > 0 || name != "" {
		if n, err = udp.Choose(name); err != nil {
			return err
		}
	}
	for first := true; first || len(groups) > 0; first = false {
		// Not bound to an interface's address or a group: that blocks multicast on
		// some systems and fails on others. Joins choose the interface.
		c, err := udp.Listen(netip.AddrPortFrom(netip.IPv4Unspecified(), port), "", true)
		if err != nil {
			return err
		}
		c.SetReadBuffer(receiveBuffer) // the system may give less
		r.conns = append(r.conns, c)
		p := ipv4.NewPacketConn(c)
		joins := min(len(groups), joinsPerSocket)
		for _, u := range groups[:joins] {
			to := Group(u).As4()
			if err := p.JoinGroup(&n.Interface, &net.UDPAddr{IP: to[:]}); err != nil {
				return fmt.Errorf("joining %s for universe %d on %s: %w", Group(u), u, n.Name, err)
			}
		}
		groups = groups[joins:]
	}
	return nil
}

// Run hands every packet, good or bad, to handle, one at a time, until ctx ends;
// then it closes the sockets and returns nil. It stamps each packet as it is
// read. A socket that cannot be read any more ends it with an error.
func (r *Receiver) Run(ctx context.Context, handle func(Packet)) error {
	defer context.AfterFunc(ctx, r.close)()
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
			r.close() // one that failed ends all
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

// decoder holds the packets that are used again and again.
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
