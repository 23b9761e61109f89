package artnet

import (
	"cmp"
	"net/netip"
	"slices"
	"sync"

	"tactus/clock"
)

// nodeTable holds the nodes that have answered and want universes of the show, and
// the patched ones.
type nodeTable struct {
	mu      sync.Mutex
	ours    map[uint16]bool     // Port-Addresses of the show
	patched map[netip.Addr]bool // never limited, never removed
	pages   map[netip.Addr][]*page
	found   int    // addresses in pages that are not patched
	polls   uint64 // sent so far
	expired []Node
	others  uint64 // replies of nodes that want none of our universes
	full    uint64 // replies for which the table had no room
}

// page is a node, or a group of its ports.
type page struct {
	Node
	wants []subscription
	polls uint64 // nodeTable.polls at its last reply
}

// subscription is a Port-Address that a node wants, until it has not named it for
// some time.
type subscription struct {
	portAddress uint16
	namedAt     clock.Time
	missing     int // replies since then
}

func newNodeTable(c *SenderConfig) *nodeTable {
	t := &nodeTable{ours: map[uint16]bool{}, patched: map[netip.Addr]bool{}, pages: map[netip.Addr][]*page{}}
	for i := range c.Universes {
		t.ours[c.Universes[i].PortAddress] = true
		for _, n := range c.Universes[i].Nodes {
			t.patched[n.Addr()] = true
		}
	}
	return t
}

// update records that n answered at now, and reports whether that changes who gets
// data.
func (t *nodeTable) update(now clock.Time, n Node) bool {
	n.LastSeen, n.Seen = now, true
	t.mu.Lock()
	defer t.mu.Unlock()
	p := t.page(&n)
	if p == nil {
		return false
	}
	p.Node, p.polls = n, t.polls
	changed := p.hear(now, n.PortAddresses, t.ours)
	if len(p.wants) == 0 && !t.patched[n.Addr] {
		t.remove(p)
	}
	return changed
}

// page returns the entry of n, and makes one if n wants a universe of ours or is
// patched, and there is room. Otherwise it counts the reply and returns nil.
func (t *nodeTable) page(n *Node) *page {
	list := t.pages[n.Addr]
	for _, p := range list {
		if p.BindIndex == n.BindIndex {
			return p
		}
	}
	patched := t.patched[n.Addr]
	switch {
	case !patched && !slices.ContainsFunc(n.PortAddresses, func(a uint16) bool { return t.ours[a] }):
		t.others++
		return nil
	case len(list) == maxPages, len(list) == 0 && !patched && t.found == maxNodes:
		t.full++
		return nil
	}
	if len(list) == 0 && !patched {
		t.found++
	}
	p := &page{}
	t.pages[n.Addr] = append(list, p)
	t.expired = slices.DeleteFunc(t.expired, func(e Node) bool { return e.Addr == n.Addr })
	return p
}

// hear takes in which Port-Addresses a reply names, and reports whether what the
// node wants of ours changed.
func (p *page) hear(now clock.Time, named []uint16, ours map[uint16]bool) (changed bool) {
	for i := range p.wants {
		w := &p.wants[i]
		w.missing++
		if slices.Contains(named, w.portAddress) {
			w.namedAt, w.missing = now, 0
		}
	}
	before := len(p.wants)
	p.wants = slices.DeleteFunc(p.wants, func(w subscription) bool {
		return w.missing >= unsubscribeReplies && now-w.namedAt >= unsubscribeTime
	})
	changed = len(p.wants) < before
	for _, a := range named {
		if ours[a] && !slices.ContainsFunc(p.wants, func(w subscription) bool { return w.portAddress == a }) {
			p.wants = append(p.wants, subscription{portAddress: a, namedAt: now})
			changed = true
		}
	}
	return changed
}

func (t *nodeTable) remove(p *page) {
	list := slices.DeleteFunc(t.pages[p.Addr], func(o *page) bool { return o == p })
	t.pages[p.Addr] = list
	if len(list) == 0 {
		delete(t.pages, p.Addr)
		t.found--
	}
}

// expire removes nodes that left the last polls unanswered; polls is how many have
// been sent. It reports whether any was removed.
func (t *nodeTable) expire(polls uint64) (changed bool) {
	t.mu.Lock()
	defer t.mu.Unlock()
	if t.polls == polls {
		return false
	}
	t.polls = polls
	for a, list := range t.pages {
		if t.patched[a] {
			continue
		}
		for _, p := range slices.Clone(list) {
			if polls-p.polls < silentPolls {
				continue
			}
			t.remove(p)
			changed = true
			if p.BindIndex == 1 || len(t.pages[a]) == 0 {
				p.Expired = true
				t.expired = append(slices.DeleteFunc(t.expired, func(e Node) bool { return e.Addr == a }), p.Node)
			}
		}
	}
	t.expired = t.expired[max(0, len(t.expired)-maxExpired):]
	return changed
}

// subscribers returns the addresses of the nodes that want each Port-Address, in
// order.
func (t *nodeTable) subscribers() map[uint16][]netip.Addr {
	t.mu.Lock()
	defer t.mu.Unlock()
	found := map[uint16][]netip.Addr{}
	for a, list := range t.pages {
		for _, p := range list {
			for _, w := range p.wants {
				found[w.portAddress] = append(found[w.portAddress], a)
			}
		}
	}
	for n, list := range found {
		slices.SortFunc(list, netip.Addr.Compare)
		found[n] = slices.Compact(list)
	}
	return found
}

// list returns the nodes in the table, the patched ones that never answered and some
// that expired, in order of address and BindIndex.
func (t *nodeTable) list(now clock.Time) []Node {
	t.mu.Lock()
	defer t.mu.Unlock()
	list := slices.Clone(t.expired)
	for a, pages := range t.pages {
		for _, p := range pages {
			n := p.Node
			n.Answering, n.Patched = now-n.LastSeen <= answerTime, t.patched[a]
			list = append(list, n)
		}
	}
	for a := range t.patched {
		if len(t.pages[a]) == 0 {
			list = append(list, Node{Addr: a, BindIndex: 1, Patched: true})
		}
	}
	slices.SortFunc(list, func(a, b Node) int {
		return cmp.Or(a.Addr.Compare(b.Addr), cmp.Compare(a.BindIndex, b.BindIndex))
	})
	return list
}
