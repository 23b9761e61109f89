package artnet

import (
	"cmp"
	"net/netip"
	"slices"

	"tactus/clock"
	"tactus/protocol/dmx"
)

const (
	// maxReceived bounds the streams that a flood of packets can make.
	maxReceived = 4096
	// forgetAfter is how long a stream that stopped is still shown.
	forgetAfter = 60 * clock.Second
	// lateWindow: a number that is behind by less counts as late, one that is
	// behind by more as a restart. Art-Net gives none; 20 is E1.31-2018, 6.7.2.
	lateWindow = 20
	// rateDepth is how many arrivals are kept to count a second's.
	rateDepth = 128
)

// Received is what came for one Port-Address from one source.
type Received struct {
	PortAddress uint16
	From        netip.Addr
	Levels      [dmx.Slots]byte // slots that were not sent are 0
	Slots       int             // of the last packet
	Packets     uint64          // used
	Rate        int             // packets in the last second, 128 at most
	Missing     uint64          // sequence numbers that never came
	Late        uint64          // discarded: behind, or repeated
	LastAt      clock.Time      // arrival of the last packet
}

// Monitor counts who sends data for which Port-Address, and keeps the latest
// levels. It reads no clock; one goroutine owns it.
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
	sequence uint8 // the last; 0 = the source does not number
}

// NewMonitor returns a Monitor that has heard nothing yet.
func NewMonitor() *Monitor { return &Monitor{streams: map[receivedKey]*received{}} }

// Add counts a packet. Only a good ArtDmx changes anything.
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

// sequenceStep returns how far b is ahead of a, -127 to 127 on the ring of 255
// numbers that leaves 0 out. It is 1 when one of them is 0: not numbered.
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

// Universes returns what came in up to now, by Port-Address and source, and
// forgets what stopped a minute ago.
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

// Overflow counts the packets of streams beyond the 4,096 that are kept: they
// are in no Received.
func (m *Monitor) Overflow() uint64 { return m.overflow }
