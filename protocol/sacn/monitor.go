package sacn

import (
	"bytes"
	"cmp"
	"slices"

	"tactus/clock"
)

const (
	// dataLoss is E131_NETWORK_DATA_LOSS_TIMEOUT (Appendix A, 6.7.1).
	dataLoss = 2500 * clock.Millisecond
	// forgetAfter is how long a stopped source is still listed.
	forgetAfter = 60 * clock.Second
	// maxSources limits the memory that a flood of invented sources can use.
	maxSources = 4096
)

// Verdict is the result of checking a packet.
type Verdict uint8

// The verdicts. Only Accepted carries levels for live output.
const (
	Accepted    Verdict = iota
	Late                // out of sequence (6.7.2)
	NotLevels           // START code other than 0
	PreviewOnly         // Preview_Data is set
	Ended               // Stream_Terminated is set
	NotData             // a sync packet, a list of universes, or malformed
	TooMany             // from a source beyond those that are followed
	Held                // levels wait for a sync packet; of a Merger only
)

// Monitor counts packets by source and universe, and holds the latest levels. It
// reads no clock. Only one goroutine may use it.
type Monitor struct {
	sources  map[sourceKey]*Source
	overflow uint64
}

type sourceKey struct {
	universe uint16
	cid      [16]byte
}

// NewMonitor returns a Monitor without sources.
func NewMonitor() *Monitor { return &Monitor{sources: map[sourceKey]*Source{}} }

// Add counts a packet and returns its verdict.
func (m *Monitor) Add(p Packet) Verdict {
	if p.Data == nil {
		return NotData
	}
	key := sourceKey{p.Data.Universe, p.Data.CID}
	s := m.sources[key]
	fresh := s == nil || p.At-s.LastAt > dataLoss // no recent sequence number to compare with
	if s == nil {
		if len(m.sources) >= maxSources {
			m.overflow++
			return TooMany
		}
		s = &Source{Universe: key.universe, CID: key.cid}
		m.sources[key] = s
	}
	return s.add(p.At, p.From, p.Data, fresh)
}

// Expire marks sources without packets as lost, and removes those that stopped a
// minute ago. It returns how many were lost since the last call.
func (m *Monitor) Expire(now clock.Time) (lost int) {
	for key, s := range m.sources {
		if s.Status == Live && now-s.LastAt > dataLoss {
			s.Status = Lost
			s.Rate = 0
			lost++
		}
		if s.Status != Live && now-s.LastAt > forgetAfter {
			delete(m.sources, key)
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

// Overflow returns the number of packets from sources beyond the first 4,096. No
// Source counts them.
func (m *Monitor) Overflow() uint64 { return m.overflow }
