package artnet

import (
	"cmp"
	"net/netip"
	"slices"

	"tactus/clock"
	"tactus/protocol/dmx"
)

const (
	// maxReceived limits the number of streams, against a flood of packets.
	maxReceived = 4096
	// forgetAfter is how long a stopped stream is still listed.
	forgetAfter = 60 * clock.Second
	// lateWindow is the limit between late and restarted: a sequence number behind
	// by less is late, behind by more is a restart of the source. Art-Net gives no
	// limit; 20 is from E1.31-2018, 6.7.2.
	lateWindow = 20
	// rateDepth is how many arrival times are stored to count the packets of a
	// second.
	rateDepth = 128
)

// Received describes the packets for one Port-Address from one source.
type Received struct {
	PortAddress uint16
	From        netip.Addr
	Levels      [dmx.Slots]byte // slots not sent are 0
	Slots       int             // number in the last packet
	Packets     uint64          // accepted
	Rate        int             // packets in the last second, 128 at most
	Missing     uint64          // sequence numbers that never arrived
	Late        uint64          // discarded: late or repeated
	LastAt      clock.Time      // arrival of the last packet
}

// Monitor counts packets by source and Port-Address, and holds the latest levels. It
// reads no clock. Only one goroutine may use it.
type Monitor struct {
	streams  map[receivedKey]*received
	overflow uint64
}

type receivedKey struct {
	portAddress uint16
	from        netip.Addr
}

type received struct {
	Received
	arrivals [rateDepth]clock.Time
	sequence uint8 // last sequence number; 0 = the source sends none
}

// NewMonitor returns a Monitor without streams.
func NewMonitor() *Monitor { return &Monitor{streams: map[receivedKey]*received{}} }

// Add counts a packet. It ignores all but valid ArtDmx packets.
func (m *Monitor) Add(p Packet) {
	if p.Err != nil || p.Op != OpDmx {
		return
	}
	key := receivedKey{p.Dmx.PortAddress, p.From.Addr()}
	s := m.streams[key]
	if s == nil {
		if len(m.streams) == maxReceived {
			m.overflow++
			return
		}
		s = &received{Received: Received{PortAddress: key.portAddress, From: key.from}}
		m.streams[key] = s
	}
	if s.Packets > 0 {
		step := sequenceStep(s.sequence, p.Dmx.Sequence)
		if step <= 0 && step > -lateWindow {
			s.Late++
			return
		}
		if step > 1 {
			s.Missing += uint64(step - 1)
		}
	}
	s.Slots = len(p.Dmx.Data)
	clear(s.Levels[copy(s.Levels[:], p.Dmx.Data):])
	s.sequence = p.Dmx.Sequence
	s.LastAt = p.At
	s.arrivals[s.Packets%rateDepth] = p.At
	s.Packets++
}

// sequenceStep returns how far b is ahead of a, -127 to 127, in the cycle of 255
// numbers without 0. It returns 1 when a or b is 0: no numbers.
func sequenceStep(a, b uint8) int {
	if a == 0 || b == 0 {
		return 1
	}
	step := int(b) - int(a)
	switch {
	case step > 127:
		step -= 255
	case step < -127:
		step += 255
	}
	return step
}

// Universes returns the streams received until now, by Port-Address and source. It
// removes those that stopped a minute ago.
func (m *Monitor) Universes(now clock.Time) []Received {
	list := make([]Received, 0, len(m.streams))
	for key, s := range m.streams {
		if now-s.LastAt > forgetAfter {
			delete(m.streams, key)
			continue
		}
		r := s.Received
		for _, at := range s.arrivals[:min(s.Packets, rateDepth)] {
			if now-at < clock.Second {
				r.Rate++
			}
		}
		list = append(list, r)
	}
	slices.SortFunc(list, func(a, b Received) int {
		return cmp.Or(cmp.Compare(a.PortAddress, b.PortAddress), a.From.Compare(b.From))
	})
	return list
}

// Overflow returns the number of packets from streams beyond the first 4,096. No
// Received counts them.
func (m *Monitor) Overflow() uint64 { return m.overflow }
