package senders

import (
	"fmt"

	"tactus/clock"
	"tactus/protocol/artnet"
	"tactus/protocol/udp"
)

// maxLines is how many nodes Nodes describes.
const maxLines = 256

// Nodes describes the Art-Net nodes that were found or are patched, and what was not
// used of their replies.
func (w *Set) Nodes(now clock.Time) []string {
	if w.artnet == nil {
		return nil
	}
	var list []string
	nodes := w.artnet.Nodes(now)
	for _, n := range nodes[:min(len(nodes), maxLines)] {
		list = append(list, nodeText(n))
	}
	if more := len(nodes) - maxLines; more > 0 {
		list = append(list, fmt.Sprintf("and %d more", more))
	}
	if note := w.artnet.Warning(); note != "" {
		list = append(list, note)
	}
	return append(list, refusalText(w.artnet.Refusals(), w.artnet.Counts())...)
}

// nodeText says in a line who a node is and whether it is there.
func nodeText(n artnet.Node) string {
	state := "never answered; gets its data all the same"
	switch {
	case n.Expired:
		state = "no longer answers; gets no data until it answers, because it is not patched"
	case n.Answering:
		state = "answers"
	case n.Seen && !n.Patched:
		state = "no longer answers; gets its data for another half minute, because it is not patched"
	case n.Seen:
		state = "no longer answers; gets its data all the same"
	}
	name := ""
	if n.ShortName != "" {
		name = fmt.Sprintf(" %q", n.ShortName)
	}
	return fmt.Sprintf("%s%s: %s", n.Addr, name, state)
}

// refusalText says which replies to polls were not used, and which packets had no room.
func refusalText(r artnet.Refusals, c artnet.Counts) (list []string) {
	for _, line := range []struct {
		count uint64
		words string
	}{
		{r.Foreign, "replies refused: their senders are outside the networks of the interface"},
		{r.Forged, "replies refused: they name another address than they came from"},
		{r.Full, "replies left out: too many nodes want this show's universes; patch those that belong to the rig"},
		{c.LeftOut, "packets left out: the nodes that were found, not patched, want more than a frame has room for"},
	} {
		if line.count > 0 {
			list = append(list, fmt.Sprintf("%d %s", line.count, line.words))
		}
	}
	return list
}

// LinkFaults returns what keeps packets from leaving this computer, by the network
// interface: such as an unplugged cable. Each interface is there once.
func (w *Set) LinkFaults() (list []*udp.LinkError) {
	for _, o := range w.List {
		s, ok := o.(interface{ LinkFault() *udp.LinkError })
		if !ok {
			continue
		}
		fault := s.LinkFault()
		if fault == nil {
			continue
		}
		known := false
		for _, f := range list {
			known = known || *f == *fault
		}
		if !known {
			list = append(list, fault)
		}
	}
	return list
}
