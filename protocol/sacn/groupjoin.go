package sacn

import (
	"context"
	"fmt"
	"net"
	"net/netip"
	"slices"

	"golang.org/x/net/ipv4"

	"tactus/protocol/udp"
)

// groupJoin is the membership of one multicast group.
type groupJoin struct {
	conn     *ipv4.PacketConn
	universe uint16
	on       *net.Interface // where it is joined; nil = nowhere
}

// joinState is what the groups have to be joined again for if it changes.
type joinState struct {
	index    int
	networks []netip.Prefix
	up       bool
}

func (r *Receiver) joinState() (s joinState) {
	s.index, s.networks, s.up = r.links.Link()
	return s
}

func (s *joinState) equal(o *joinState) bool {
	return s.index == o.index && s.up == o.up && slices.Equal(s.networks, o.networks)
}

// LinkFault returns what keeps the interface of the groups from receiving, nil if
// nothing does. Any goroutine may call it.
func (r *Receiver) LinkFault() *udp.LinkError {
	if r.links == nil {
		return nil
	}
	return r.links.Fault()
}

// join joins every group, after it left those that it had joined: a membership belongs
// to an interface's number, which is another after the interface was gone. It also
// makes the system report the membership again (IGMP), for a switch that forwards only
// groups that somebody asked for.
func (r *Receiver) join() error {
	r.joined = r.joinState() // before the first join, so that a change meanwhile is seen
	on, err := net.InterfaceByIndex(r.joined.index)
	if err != nil {
		return err
	}
	for i := range r.joins {
		g := &r.joins[i]
		to := Group(g.universe).As4()
		group := &net.UDPAddr{IP: to[:]}
		if g.on != nil {
			_ = g.conn.LeaveGroup(g.on, group) // fails where the interface took it along
			g.on = nil
		}
		if err := g.conn.JoinGroup(on, group); err != nil {
			return fmt.Errorf("joining %s for universe %d on %s: %w", Group(g.universe), g.universe, on.Name, err)
		}
		g.on = on
	}
	return nil
}

// keepJoined joins the groups again after each change of the interface, until ctx
// ends.
func (r *Receiver) keepJoined(ctx context.Context) {
	if r.links == nil {
		return
	}
	defer r.links.Close()
	for {
		if now := r.joinState(); !now.equal(&r.joined) {
			r.joined = now
			if now.up && r.join() != nil {
				r.joined = joinState{} // with the next change
			}
		}
		select {
		case <-ctx.Done():
			return
		case <-r.links.Changed():
		}
	}
}
