package artnet

import (
	"cmp"
	"net/netip"
	"slices"
	"strings"
	"sync"
	"unicode"

	"tactus/clock"
)

const (
	// answerTime is how long a node counts as answering after its last reply: a poll
	// comes within 3 s, and a node that does not answer it within 3 s is considered
	// disconnected (Art-Net 4, ArtPoll).
	answerTime = 6 * clock.Second
	// maxNodes limits the nodes stored and sent to, against a flood of replies.
	maxNodes = 1024
)

// Node is one device on the network, or one group of ports of a larger device.
type Node struct {
	Addr      netip.Addr // source address of its replies
	BindIndex uint8      // 1 = root device
	// Its own texts; unprintable characters are replaced by "?".
	ShortName, LongName, Report string
	Style                       Style
	PortAddresses               []uint16 // Port-Addresses that it subscribes to
	LastSeen                    clock.Time
	Seen                        bool // it has answered since the start
	Answering                   bool // it answered within answerTime; for information only
	Patched                     bool // in the show's patch, so it always gets data
}

func newNode(from netip.Addr, p *PollReply) Node {
	return Node{
		Addr:          from.Unmap(),
		BindIndex:     max(p.BindIndex, 1),
		ShortName:     printable(p.ShortName),
		LongName:      printable(p.LongName),
		Report:        printable(p.Report),
		Style:         p.Style,
		PortAddresses: p.Subscribed(nil),
	}
}

func printable(s string) string {
	return strings.Map(func(r rune) rune {
		if r == unicode.ReplacementChar || !unicode.IsPrint(r) {
			return '?'
		}
		return r
	}, s)
}

// nodeTable holds the nodes that have answered. It removes none, so a node that was
// switched off gets data as soon as it is back.
type nodeTable struct {
	mu    sync.Mutex
	nodes []Node
}

// update records that n answered at now, and reports whether its Port-Addresses
// changed.
func (t *nodeTable) update(now clock.Time, n Node) bool {
	n.LastSeen, n.Seen = now, true
	t.mu.Lock()
	defer t.mu.Unlock()
	for i := range t.nodes {
		if old := &t.nodes[i]; old.Addr == n.Addr && old.BindIndex == n.BindIndex {
			changed := !slices.Equal(old.PortAddresses, n.PortAddresses)
			*old = n
			return changed
		}
	}
	if len(t.nodes) == maxNodes {
		return false
	}
	t.nodes = append(t.nodes, n)
	return len(n.PortAddresses) > 0
}

// subscribers appends to dst the addresses of the nodes that subscribe to a
// Port-Address.
func (t *nodeTable) subscribers(dst []netip.Addr, portAddress uint16) []netip.Addr {
	t.mu.Lock()
	defer t.mu.Unlock()
	for i := range t.nodes {
		if slices.Contains(t.nodes[i].PortAddresses, portAddress) {
			dst = append(dst, t.nodes[i].Addr)
		}
	}
	return dst
}

// list returns the nodes that have answered and the patched ones that never did, in
// order of address and BindIndex.
func (t *nodeTable) list(now clock.Time, patched []netip.AddrPort) []Node {
	t.mu.Lock()
	list := slices.Clone(t.nodes)
	t.mu.Unlock()
	for i := range list {
		list[i].Answering = now-list[i].LastSeen <= answerTime
	}
	for _, p := range patched {
		seen := false
		for i := range list {
			if list[i].Addr == p.Addr() {
				list[i].Patched, seen = true, true
			}
		}
		if !seen {
			list = append(list, Node{Addr: p.Addr(), BindIndex: 1, Patched: true})
		}
	}
	slices.SortFunc(list, func(a, b Node) int {
		return cmp.Or(a.Addr.Compare(b.Addr), cmp.Compare(a.BindIndex, b.BindIndex))
	})
	return list
}
