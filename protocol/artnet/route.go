package artnet

import (
	"net/netip"
	"slices"

	"tactus/clock"
)

const (
	// routesEvery is the least time between two updates of the links, so that nodes
	// which change what they want in every reply cost little.
	routesEvery = 100 * clock.Millisecond
	// A frame has room for this many packets to discovered nodes: so many for each
	// universe, and at least so many in all. Patched nodes are not limited.
	packetsPerUniverse = 4
	packetsPerFrame    = 256
)

type linkKey struct {
	to        netip.AddrPort
	broadcast bool
}

// updateRoutes gives every stream its links: the patched nodes and those that
// subscribe, without repeats; or the broadcast. Links that are still needed stay
// open.
func (s *Sender) updateRoutes() {
	old, used := map[linkKey]*link{}, map[linkKey]*link{}
	for _, l := range slices.Concat(s.links, s.syncLinks) {
		old[linkKey{l.to, l.broadcast}] = l
	}
	var patched, discovered []*link
	get := func(to netip.AddrPort, broadcast bool) *link {
		key := linkKey{to, broadcast}
		l := used[key]
		if l == nil {
			if l = old[key]; l == nil {
				l = newLink(to, broadcast, &s.counts)
			}
			used[key] = l
		}
		return l
	}
	subscribers := s.nodes.subscribers()
	everyone := netip.AddrPortFrom(netip.IPv4Unspecified(), uint16(s.cfg.NodePort))
	listed := map[*link]bool{}
	for i := range s.streams {
		st, u := &s.streams[i], &s.cfg.Universes[i]
		before := len(st.links)
		st.links = st.links[:0]
		for _, to := range s.targets(u, everyone, subscribers[u.PortAddress]) {
			l := get(to, u.Broadcast)
			if slices.Contains(st.links, l) {
				continue
			}
			st.links = append(st.links, l)
			if listed[l] {
				continue
			}
			listed[l] = true
			if u.Broadcast || s.nodes.patched[to.Addr()] {
				patched = append(patched, l)
			} else {
				discovered = append(discovered, l)
			}
		}
		if len(st.links) > before {
			st.resend() // a new node gets the present levels at once
		}
	}
	s.links, s.discovered = append(patched, discovered...), discovered
	s.syncLinks = s.links
	if s.cfg.Sync && s.cfg.Interface != "" {
		s.syncLinks = []*link{get(everyone, true)}
	}
	for key, l := range old {
		if used[key] == nil {
			l.close()
		}
	}
	s.watchRoutes()
}

// targets returns where a universe goes.
func (s *Sender) targets(u *UniverseConfig, everyone netip.AddrPort, subscribers []netip.Addr) []netip.AddrPort {
	if u.Broadcast {
		return []netip.AddrPort{everyone}
	}
	targets := slices.Clone(u.Nodes)
	for _, a := range subscribers {
		targets = append(targets, netip.AddrPortFrom(a, uint16(s.cfg.NodePort)))
	}
	return targets
}

// leaveOutDiscovered keeps as many packets to discovered nodes as a frame has room for.
// The rest is left out and counted, and the next frame begins where this one ended, so
// that every node gets its share.
func (s *Sender) leaveOutDiscovered() {
	links, room, full := s.discovered, max(packetsPerFrame, packetsPerUniverse*len(s.streams)), false
	begin := s.turn
	for i := range links {
		at := (begin + i) % len(links)
		l := links[at]
		if !full && len(l.batch) <= room {
			room -= len(l.batch)
			continue
		}
		if !full {
			s.turn, full = at, true
		}
		s.counts.leftOut.Add(uint64(len(l.batch)))
		if len(l.batch) > 0 {
			s.resendOn(l)
		}
		l.batch = l.batch[:0]
	}
}

// resendOn makes the streams of a link send again in the next frame, so that a lost
// change need not wait for the keep-alive.
func (s *Sender) resendOn(l *link) {
	for i := range s.streams {
		if st := &s.streams[i]; st.onChange && slices.Contains(st.links, l) {
			st.resend()
		}
	}
}
