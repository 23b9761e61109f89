package artnet

import (
	"net/netip"
	"slices"
)

// updateRoutes gives every stream its links: the patched nodes and those that
// subscribe, without repeats; or the broadcast. Links that are still needed stay
// open.
func (s *Sender) updateRoutes() {
	old := s.links
	s.links, s.syncLinks = nil, nil
	get := func(to netip.AddrPort, broadcast bool) *link {
		for _, list := range [][]*link{s.links, old} {
			for _, l := range list {
				if l.to == to && l.broadcast == broadcast {
					return l
				}
			}
		}
		return newLink(to, broadcast, &s.counts)
	}
	everyone := netip.AddrPortFrom(netip.IPv4Unspecified(), uint16(s.cfg.NodePort))
	for i := range s.streams {
		st, u := &s.streams[i], &s.cfg.Universes[i]
		before := len(st.links)
		st.links = st.links[:0]
		targets := slices.Clone(u.Nodes)
		if u.Broadcast {
			targets = []netip.AddrPort{everyone}
		} else {
			for _, a := range s.nodes.subscribers(nil, u.PortAddress) {
				targets = append(targets, netip.AddrPortFrom(a, uint16(s.cfg.NodePort)))
			}
		}
		for _, to := range targets {
			l := get(to, u.Broadcast)
			if !slices.Contains(st.links, l) {
				st.links = append(st.links, l)
			}
			if !slices.Contains(s.links, l) {
				s.links = append(s.links, l)
			}
		}
		if len(st.links) > before {
			st.resend() // a new node gets the present levels at once
		}
	}
	s.syncLinks = s.links
	if s.cfg.Sync && s.cfg.Interface != "" {
		s.syncLinks = []*link{get(everyone, true)}
	}
	for _, l := range old {
		if !slices.Contains(s.links, l) && !slices.Contains(s.syncLinks, l) {
			l.close()
		}
	}
}

// resendOn makes the streams of a link send again in the next frame, so that a lost
// change need not wait for the keep-alive.
func (s *Sender) resendOn(l *link) {
	for i := range s.streams {
		if slices.Contains(s.streams[i].links, l) {
			s.streams[i].resend()
		}
	}
}
