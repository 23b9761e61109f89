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
	index, _, _ := r.links.Link()
	on, err := net.InterfaceByIndex(index)
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
	type state struct {
		index    int
		networks []netip.Prefix
		up       bool
	}
	read := func() (s state) { s.index, s.networks, s.up = r.links.Link(); return s }
	same := func(a, b state) bool {
		return a.index == b.index && a.up == b.up && slices.Equal(a.networks, b.networks)
	}
	var joined state
	if len(r.joins) > 0 && r.joins[0].on != nil {
		joined = read()
	}
	for {
		if now := read(); !same(now, joined) {
			joined = now
			if now.up && r.join() != nil {
				joined = state{} // with the next change
			}
		}
		select {
		case <-ctx.Done():
			return
		case <-r.links.Changed():
		}
	}
}
