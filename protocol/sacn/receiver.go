package sacn

import (
	"context"
	"errors"
	"fmt"
	"net"
	"net/netip"
	"slices"
	"sync"
	"time"

	"golang.org/x/net/ipv4"

	"tactus/clock"
)

// ReceiverConfig says what a Receiver listens to.
type ReceiverConfig struct {
	// Interface names the network interface whose multicast is wanted. Empty is
	// allowed when nothing is joined, or when there is exactly one candidate.
	Interface string
	Universes []uint16 // whose groups are joined: data, and sync packets by their address
	Discovery bool     // join the group of the lists of universes
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
	Err       error // why the datagram is no good
}

// joinsPerSocket is Linux's default for igmp_max_memberships: one more join on
// the same socket fails, and its universe would be deaf.
const joinsPerSocket = 20

// Receiver listens for E1.31 packets.
type Receiver struct {
	base  clock.Base
	conns []*net.UDPConn
}

// NewReceiver opens the sockets and joins the groups, spread over several
// sockets. A join that fails is an error.
func NewReceiver(c ReceiverConfig) (*Receiver, error) {
	port := c.Port
	if port == 0 {
		port = Port
	}
	groups := slices.Clone(c.Universes)
	slices.Sort(groups)
	groups = slices.Compact(groups)
	for _, u := range groups {
		if u < MinUniverse || u > MaxUniverse {
			return nil, fmt.Errorf("%w: %d, need %d..%d", ErrUniverse, u, MinUniverse, MaxUniverse)
		}
	}
	if c.Discovery {
		groups = append(groups, discoveryUniverse)
	}
	r := &Receiver{base: c.Clock}
	err := r.listen(c.Interface, port, groups)
	if err != nil {
		r.Close()
		return nil, err
	}
	return r, nil
}

func (r *Receiver) listen(name string, port uint16, groups []uint16) error {
	var ifi *net.Interface
	if len(groups) > 0 || name != "" {
		all, err := systemNICs()
		if err != nil {
			return err
		}
		n, err := chooseNIC(name, all)
		if err != nil {
			return err
		}
		ifi = &net.Interface{Index: n.index, Name: n.name, Flags: n.flags}
	}
	for first := true; first || len(groups) > 0; first = false {
		c, err := openReceiver(port)
		if err != nil {
			return err
		}
		r.conns = append(r.conns, c)
		p := ipv4.NewPacketConn(c)
		n := min(len(groups), joinsPerSocket)
		for _, u := range groups[:n] {
			to := Group(u).As4()
			if err := p.JoinGroup(ifi, &net.UDPAddr{IP: to[:]}); err != nil {
				return fmt.Errorf("sacn: joining %s for universe %d on %s: %w", Group(u), u, ifi.Name, err)
			}
		}
		groups = groups[n:]
	}
	return nil
}

// Addr returns the address that is listened on.
func (r *Receiver) Addr() netip.AddrPort {
	return r.conns[0].LocalAddr().(*net.UDPAddr).AddrPort()
}

// Run hands every datagram to handle, one at a time, until ctx ends; then it
// closes the receiver. It stamps each packet as it is read.
func (r *Receiver) Run(ctx context.Context, handle func(Packet)) {
	stop := context.AfterFunc(ctx, r.Close)
	defer stop()
	var one sync.Mutex // handle sees one packet at a time
	var readers sync.WaitGroup
	for _, c := range r.conns {
		readers.Go(func() {
			r.read(ctx, c, func(p Packet) {
				one.Lock()
				defer one.Unlock()
				handle(p)
			})
		})
	}
	readers.Wait()
	r.Close()
}

// Close ends Run.
func (r *Receiver) Close() {
	for _, c := range r.conns {
		c.Close()
	}
}

// read is the loop of one socket. It goes on after every error but that of a
// closed socket: some systems report a peer's ICMP answer as a failed read.
func (r *Receiver) read(ctx context.Context, c *net.UDPConn, handle func(Packet)) {
	buffer := make([]byte, MaxPacket+1) // one more shows that a datagram is too long
	var d decoder
	for {
		n, from, err := c.ReadFromUDPAddrPort(buffer)
		at := r.base.Now()
		if errors.Is(err, net.ErrClosed) {
			return
		}
		if err != nil {
			select { // an error that stays must not spin
			case <-ctx.Done():
			case <-time.After(10 * time.Millisecond):
			}
			continue
		}
		p := d.decode(buffer[:n])
		p.At, p.From = at, netip.AddrPortFrom(from.Addr().Unmap(), from.Port())
		handle(p)
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
