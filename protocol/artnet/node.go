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
	// answerTime is how long after its last reply a node counts as answering:
	// a poll comes within 3 s, and a node that is silent for 3 s after it is
	// taken to be gone (Art-Net 4, ArtPoll).
	answerTime = 6 * clock.Second
	// maxNodes bounds what a flood of replies can make us keep and send to.
	maxNodes = 1024
)

// Node is one device on the network, or one bank of ports of a larger one.
type Node struct {
	Addr      netip.Addr // where its replies come from
	BindIndex uint8      // 1 = root device
	// What it calls itself; unprintable characters are replaced by "?".
	ShortName, LongName, Report string
	Style                       Style
	PortAddresses               []uint16 // that it subscribes to
	LastSeen                    clock.Time
	Seen                        bool // it has answered since the start
	Answering                   bool // it answered of late; advisory only
	Patched                     bool // the show sends to it in any case
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

// nodeTable holds the nodes that have answered. None is removed: a node that was
// switched off gets its data as soon as it is back.
type nodeTable struct {
	mu    sync.Mutex
	nodes []Node
}

// take notes that n answered at now, and says whether it subscribes to other
// Port-Addresses than before.
func (t *nodeTable) take(now clock.Time, n Node) bool {
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

// subscribers appends to dst the addresses that subscribe to a Port-Address.
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

// list returns the nodes as of now, with the patched ones that never answered,
// in order of address and BindIndex.
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
