package sacn

import (
	"net/netip"

	"golang.org/x/net/ipv4"

	"tactus/clock"
	"tactus/protocol/udp"
)

// discoveryInterval is E131_UNIVERSE_DISCOVERY_INTERVAL (Appendix A, 4.3).
const discoveryInterval = 10 * clock.Second

// announcer holds the packets that list our universes, and the time of the next
// list.
type announcer struct {
	pages   []ipv4.Message // ascending, up to 512 universes each (8.5)
	empty   []ipv4.Message // the empty list
	next    clock.Time
	started bool
}

func newAnnouncer(c *SenderConfig) announcer {
	var list []uint16
	for i := range c.Universes {
		list = append(list, c.Universes[i].Number)
	}
	p := DiscoveryPacket{CID: c.CID, SourceName: NewSourceName(c.SourceName)}
	to := netip.AddrPortFrom(Group(discoveryUniverse), Port)
	a := announcer{empty: []ipv4.Message{udp.Message(p.AppendTo(nil), to)}}
	p.Last = uint8(max(0, len(list)-1) / PageSize)
	for first := 0; first < len(list); first += PageSize {
		p.Universes = list[first:min(first+PageSize, len(list))]
		a.pages = append(a.pages, udp.Message(p.AppendTo(nil), to))
		p.Page++
	}
	return a
}

// due reports whether to send the list: at once, then every ten seconds. Missed
// intervals are skipped.
func (a *announcer) due(now clock.Time) bool {
	if a.started && now < a.next {
		return false
	}
	if !a.started || now >= a.next+discoveryInterval {
		a.next = now
	}
	a.started = true
	a.next += discoveryInterval
	return true
}
