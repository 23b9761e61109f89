package artnet

import (
	"net/netip"
	"strings"
	"unicode"

	"tactus/clock"
)

const (
	// answerTime is how long a node counts as answering after its last reply: a poll
	// comes within 3 s, and a node that does not answer it within 3 s is considered
	// disconnected (Art-Net 4, ArtPoll).
	answerTime = 6 * clock.Second
	// maxNodes limits the addresses that are stored and sent to beside the patched
	// ones, against a flood of forged replies. Each costs a socket.
	maxNodes = 256
	// maxPages limits the groups of ports (BindIndex) of one address.
	maxPages = 64
	// silentPolls is how many polls in a row a node may leave unanswered, about 35 s,
	// before it gets no more data. A patched node gets its data in any case.
	silentPolls = 12
	// A node that no longer names a Port-Address has unsubscribed when it says so in
	// three replies in a row and for 8 s. One forged reply is corrected by the node's
	// own, which comes within 3 s.
	unsubscribeReplies = 3
	unsubscribeTime    = 8 * clock.Second
	// maxExpired is how many nodes that expired are still listed.
	maxExpired = 16
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
	Expired                     bool // silent for so long that it gets no data until it answers
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
