package sacn

import (
	"bytes"
	"cmp"
	"errors"
	"net/netip"
	"slices"

	"tactus/clock"
)

const (
	// dataLoss is E131_NETWORK_DATA_LOSS_TIMEOUT (Appendix A, 6.7.1).
	dataLoss = 2500 * clock.Millisecond
	// forget is how long a source that stopped is still shown.
	forget = 60 * clock.Second
	// maxSources bounds what a flood of invented sources can take.
	maxSources = 4096
	maxLists   = 256
)

// Verdict is what became of a packet.
type Verdict uint8

// The verdicts. Only Accepted carries levels for live output.
const (
	Accepted      Verdict = iota
	Late                  // out of sequence (6.7.2)
	NotLevels             // START code other than 0
	PreviewOnly           // Preview_Data is set
	Ended                 // Stream_Terminated is set
	Synchronizing         // a sync packet in sequence
	Listed                // a page of universes
	Malformed             // see Monitor.Discarded
	TooMany               // more sources than are kept
)

// Monitor keeps account of who sends what. It reads no clock; one goroutine
// owns it.
type Monitor struct {
	sources   map[sourceKey]*Source
	syncs     map[sourceKey]*SyncSource
	lists     map[[16]byte]*Announcement
	discarded [len(causeList{}) + 1]uint64
	tooMany   uint64
}

type sourceKey struct {
	universe uint16
	cid      [16]byte
}

// SyncSource is one source's stream of sync packets.
type SyncSource struct {
	Address uint16
	CID     [16]byte
	From    netip.AddrPort
	Packets uint64
	Late    uint64
	LastAt  clock.Time

	sequence uint8
}

// Announcement is the list of universes that a source says it sends (8, 12).
// Pages are put together as they come.
type Announcement struct {
	CID       [16]byte
	Name      SourceName
	From      netip.AddrPort
	LastAt    clock.Time
	Universes []uint16 // in the order of the pages

	pages [maxPages][]uint16
	last  uint8
}

// causeList holds the errors by which packets are counted.
type causeList [9]error

func causes() causeList {
	return causeList{
		ErrShort, ErrPreamble, ErrIdentifier, ErrLength, ErrVector, ErrAddressing, ErrCount, ErrUniverse, ErrPage,
	}
}

// Discard is a count of packets dropped for one cause.
type Discard struct {
	Cause error // one of this package's errors, or nil for any other
	Count uint64
}

// NewMonitor returns an empty account.
func NewMonitor() *Monitor {
	return &Monitor{
		sources: map[sourceKey]*Source{},
		syncs:   map[sourceKey]*SyncSource{},
		lists:   map[[16]byte]*Announcement{},
	}
}

// Take counts a packet and says what became of it.
func (m *Monitor) Take(p Packet) Verdict {
	switch {
	case p.Data != nil:
		return m.takeData(p.At, p.From, p.Data)
	case p.Sync != nil:
		return m.takeSync(p.At, p.From, p.Sync)
	case p.Discovery != nil:
		return m.takeList(p.At, p.From, p.Discovery)
	}
	list := causes()
	i := slices.IndexFunc(list[:], func(cause error) bool { return errors.Is(p.Err, cause) })
	if i < 0 {
		i = len(list)
	}
	m.discarded[i]++
	return Malformed
}

func (m *Monitor) takeData(at clock.Time, from netip.AddrPort, p *DataPacket) Verdict {
	key := sourceKey{p.Universe, p.CID}
	s := m.sources[key]
	fresh := s == nil // nothing to compare the sequence number with
	if fresh {
		if len(m.sources) >= maxSources {
			m.tooMany++
			return TooMany
		}
		s = &Source{Universe: p.Universe, CID: p.CID}
		m.sources[key] = s
	} else {
		fresh = at-s.LastAt > dataLoss
	}
	return s.take(at, from, p, fresh)
}

func (m *Monitor) takeSync(at clock.Time, from netip.AddrPort, p *SyncPacket) Verdict {
	key := sourceKey{p.Address, p.CID}
	s := m.syncs[key]
	if s == nil {
		if len(m.syncs) >= maxSources {
			m.tooMany++
			return TooMany
		}
		s = &SyncSource{Address: p.Address, CID: p.CID}
		m.syncs[key] = s
	} else if at-s.LastAt <= dataLoss && !Accept(s.sequence, p.Sequence) {
		s.Late++
		return Late
	}
	s.sequence, s.LastAt, s.From = p.Sequence, at, from
	s.Packets++
	return Synchronizing
}

func (m *Monitor) takeList(at clock.Time, from netip.AddrPort, p *DiscoveryPacket) Verdict {
	a := m.lists[p.CID]
	if a == nil {
		if len(m.lists) >= maxLists {
			m.tooMany++
			return TooMany
		}
		a = &Announcement{CID: p.CID}
		m.lists[p.CID] = a
	}
	a.Name, a.From, a.LastAt, a.last = p.SourceName, from, at, p.Last
	a.pages[p.Page] = append(a.pages[p.Page][:0], p.Universes...)
	return Listed
}

// Expire marks the sources that fell silent, and forgets those that stopped
// long ago. It returns how many were lost since the last call.
func (m *Monitor) Expire(now clock.Time) (lost int) {
	for key, s := range m.sources {
		if s.Status == Live && now-s.LastAt > dataLoss {
			s.Status = Lost
			s.Rate = 0
			lost++
		}
		if s.Status != Live && now-s.LastAt > forget {
			delete(m.sources, key)
		}
	}
	for key, s := range m.syncs {
		if now-s.LastAt > forget {
			delete(m.syncs, key)
		}
	}
	for cid, a := range m.lists {
		// A source that stopped leaves by the second interval (12.2).
		if now-a.LastAt > 2*discoveryInterval {
			delete(m.lists, cid)
		}
	}
	return lost
}

// Sources returns a copy of all streams, by universe, then CID.
func (m *Monitor) Sources() []Source {
	list := make([]Source, 0, len(m.sources))
	for _, s := range m.sources {
		list = append(list, *s)
	}
	slices.SortFunc(list, func(a, b Source) int {
		return cmp.Or(cmp.Compare(a.Universe, b.Universe), bytes.Compare(a.CID[:], b.CID[:]))
	})
	return list
}

// Syncs returns a copy of all streams of sync packets, by address, then CID.
func (m *Monitor) Syncs() []SyncSource {
	list := make([]SyncSource, 0, len(m.syncs))
	for _, s := range m.syncs {
		list = append(list, *s)
	}
	slices.SortFunc(list, func(a, b SyncSource) int {
		return cmp.Or(cmp.Compare(a.Address, b.Address), bytes.Compare(a.CID[:], b.CID[:]))
	})
	return list
}

// Announcements returns a copy of the lists of universes heard, by CID.
func (m *Monitor) Announcements() []Announcement {
	list := make([]Announcement, 0, len(m.lists))
	for _, a := range m.lists {
		list = append(list, Announcement{
			CID: a.CID, Name: a.Name, From: a.From, LastAt: a.LastAt,
			Universes: slices.Concat(a.pages[:int(a.last)+1]...),
		})
	}
	slices.SortFunc(list, func(a, b Announcement) int { return bytes.Compare(a.CID[:], b.CID[:]) })
	return list
}

// Discarded returns the counts of datagrams that were no good, by cause, and
// leaves out the causes that never came up.
func (m *Monitor) Discarded() (list []Discard) {
	known := causes()
	for i, n := range m.discarded {
		if n == 0 {
			continue
		}
		d := Discard{Count: n}
		if i < len(known) {
			d.Cause = known[i]
		}
		list = append(list, d)
	}
	return list
}

// Overflowed counts packets of sources beyond the number that is kept.
func (m *Monitor) Overflowed() uint64 { return m.tooMany }
