package artnet

import (
	"cmp"
	"errors"
	"net/netip"
	"slices"

	"tactus/clock"
	"tactus/protocol/dmx"
)

const (
	// maxReceived bounds the streams that a flood of packets can make.
	maxReceived = 4096
	// lateWindow: a number that is behind by less counts as late, one that is
	// behind by more as a restart. Art-Net gives none; 20 is E1.31-2018, 6.7.2.
	lateWindow = 20
	// rateDepth is how many arrivals are kept to count a second's.
	rateDepth = 128
)

// Discards counts packets that were not used, by cause.
type Discards struct {
	NotArtNet uint64 // ID missing
	Short     uint64
	Version   uint64 // protocol version below 14
	Length    uint64 // odd, 0, or above 512
	Address   uint64 // Port-Address above 32767
	Late      uint64 // sequence number behind, or repeated
	Overflow  uint64 // more streams than are kept
}

// Received is what came for one Port-Address from one source.
type Received struct {
	PortAddress uint16
	From        netip.Addr
	Levels      [dmx.Slots]byte // slots that were not sent are 0
	Slots       int             // of the last packet
	Packets     uint64          // used
	Rate        int             // packets in the last second, 128 at most
	Gaps        uint64          // sequence numbers that never came
	Late        uint64          // discarded: behind, or repeated
	Sequence    uint8           // the last; 0 = the source does not number
	LastSeen    clock.Time
}

// Monitor keeps the last state of everything received. It is not for use by
// several goroutines at once.
type Monitor struct {
	index    map[receivedKey]int
	streams  []received
	discards Discards
	// Packets of other kinds.
	Polls, Replies, Syncs, Others uint64
}

type receivedKey struct {
	portAddress uint16
	from        netip.Addr
}

type received struct {
	Received
	arrivals [rateDepth]clock.Time
}

// NewMonitor returns an empty Monitor.
func NewMonitor() *Monitor { return &Monitor{index: map[receivedKey]int{}} }

// Take notes a packet.
func (m *Monitor) Take(p Packet) {
	if p.Err != nil {
		m.discard(p.Err)
		return
	}
	switch p.Op {
	case OpDmx:
		m.takeDmx(p)
	case OpPoll:
		m.Polls++
	case OpPollReply:
		m.Replies++
	case OpSync:
		m.Syncs++
	default:
		m.Others++
	}
}

func (m *Monitor) discard(err error) {
	d := &m.discards
	switch {
	case errors.Is(err, ErrVersion):
		d.Version++
	case errors.Is(err, ErrLength):
		d.Length++
	case errors.Is(err, ErrAddress):
		d.Address++
	case errors.Is(err, ErrShort):
		d.Short++
	default:
		d.NotArtNet++
	}
}

func (m *Monitor) takeDmx(p Packet) {
	key := receivedKey{p.Dmx.PortAddress, p.From.Addr()}
	i, ok := m.index[key]
	if !ok {
		if len(m.streams) == maxReceived {
			m.discards.Overflow++
			return
		}
		i = len(m.streams)
		m.index[key] = i
		m.streams = append(m.streams, received{Received: Received{PortAddress: key.portAddress, From: key.from}})
	}
	s := &m.streams[i]
	if s.Packets > 0 {
		step := sequenceStep(s.Sequence, p.Dmx.Sequence)
		if step <= 0 && step > -lateWindow {
			s.Late++
			m.discards.Late++
			return
		}
		if step > 1 {
			s.Gaps += uint64(step - 1)
		}
	}
	s.Slots = len(p.Dmx.Data)
	clear(s.Levels[copy(s.Levels[:], p.Dmx.Data):])
	s.Sequence = p.Dmx.Sequence
	s.LastSeen = p.At
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

// Universes returns what has come in, by Port-Address and source.
func (m *Monitor) Universes(now clock.Time) []Received {
	list := make([]Received, 0, len(m.streams))
	for i := range m.streams {
		s := &m.streams[i]
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

// Discards counts what was not used since the start.
func (m *Monitor) Discards() Discards { return m.discards }
