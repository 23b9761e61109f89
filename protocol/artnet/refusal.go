package artnet

import (
	"net/netip"
	"sync/atomic"

	"tactus/protocol/udp"
)

// Refusals counts the replies to polls that were not used, since the start. Anybody on
// the network can send a reply with any content: nothing in Art-Net proves who a node
// is. Patched nodes are not affected.
type Refusals struct {
	Foreign uint64 // from outside the networks of the interface, or from no single device
	Forged  uint64 // naming another address than the one that they came from
	Full    uint64 // of more than 256 addresses, or more than 64 groups of ports of one
	Others  uint64 // of nodes that want none of the show's universes
}

// refusals decides which replies are used.
type refusals struct {
	patched         []netip.AddrPort
	networks        atomic.Pointer[[]netip.Prefix]
	foreign, forged atomic.Uint64
}

// refuse reports whether a reply is not to be used, and counts it.
func (r *refusals) refuse(from netip.Addr, reply *PollReply) bool {
	from = from.Unmap()
	for _, p := range r.patched {
		if p.Addr() == from {
			return false
		}
	}
	switch {
	case !isUnicast(from) || !r.inNetworks(from):
		r.foreign.Add(1)
	case !ownAddress(from, reply):
		r.forged.Add(1)
	default:
		return false
	}
	return true
}

// inNetworks reports whether a can be a device in one of the interface's networks.
func (r *refusals) inNetworks(a netip.Addr) bool {
	networks := r.networks.Load()
	if networks == nil {
		return false
	}
	for _, n := range *networks {
		if !n.Contains(a) {
			continue
		}
		all, ok := udp.Broadcast(n)
		return !ok || a != all && a != n.Masked().Addr()
	}
	return false
}

// ownAddress reports whether a reply comes from the node that it describes: its IP is
// the node's own, or it is part of the device that BindIp names (Art-Net 4,
// ArtPollReply). Some nodes leave IP at zero. Common practice, no source.
func ownAddress(from netip.Addr, reply *PollReply) bool {
	return reply.Addr == from || reply.BindAddr == from || !reply.Addr.IsValid() || reply.Addr.IsUnspecified()
}

// Refusals returns the counts since the start.
func (s *Sender) Refusals() Refusals {
	s.nodes.mu.Lock()
	c := Refusals{Full: s.nodes.full, Others: s.nodes.others}
	s.nodes.mu.Unlock()
	if s.discovery != nil {
		c.Foreign, c.Forged = s.discovery.foreign.Load(), s.discovery.forged.Load()
	}
	return c
}
