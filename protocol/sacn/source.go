package sacn

import (
	"net/netip"

	"tactus/clock"
	"tactus/protocol/dmx"
)

// Status is the state of a source's stream.
type Status uint8

// The states of a source.
const (
	Live       Status = iota
	Lost              // nothing for 2.5 s (E131_NETWORK_DATA_LOSS_TIMEOUT, 6.7.1)
	Terminated        // the source sent Stream_Terminated (6.2.6)
)

// String returns the state as watch prints it.
func (s Status) String() string { return [...]string{"live", "lost", "terminated", "?"}[s&3] }

// Source describes one source's stream of one universe.
type Source struct {
	Universe uint16
	CID      [16]byte
	Name     SourceName
	From     netip.AddrPort // address of the latest packet's sender
	Priority uint8
	Status   Status
	Slots    int // in the latest packet of levels
	Levels   [dmx.Slots]byte
	LastAt   clock.Time // arrival of the latest counted packet

	Packets uint64  // levels accepted
	Late    uint64  // out of sequence
	Missing uint64  // skipped sequence numbers
	Ends    uint64  // packets with Stream_Terminated
	Rate    float64 // packets a second, over the last whole second or more

	sequence   uint8
	windowAt   clock.Time
	windowHave int
}

// add updates the source with a packet of its universe.
func (s *Source) add(at clock.Time, from netip.AddrPort, p *DataPacket, fresh bool) Verdict {
	if !fresh && s.Status != Lost {
		if !accept(s.sequence, p.Sequence) {
			s.Late++
			return Late
		}
		if d := p.Sequence - s.sequence; d < 128 {
			s.Missing += uint64(d - 1)
		}
	}
	s.sequence = p.Sequence
	s.Name, s.From, s.Priority = p.SourceName, from, p.Priority
	s.count(at)
	if p.Options&StreamTerminated != 0 {
		s.Ends++
		s.Status = Terminated // effective at once; its slots are ignored
		return Ended
	}
	s.Status = Live
	if p.StartCode != NullStart {
		return NotLevels
	}
	if p.Options&PreviewData != 0 {
		return PreviewOnly
	}
	s.Packets++
	s.Slots = len(p.Slots)
	clear(s.Levels[copy(s.Levels[:], p.Slots):])
	return Accepted
}

// count measures the rate, in windows of at least a second.
func (s *Source) count(at clock.Time) {
	s.LastAt = at
	if s.windowHave == 0 || at-s.windowAt > 3*clock.Second {
		s.windowAt, s.windowHave = at, 0
	}
	if span := at - s.windowAt; span >= clock.Second {
		s.Rate = float64(s.windowHave) / (float64(span) / float64(clock.Second))
		s.windowAt, s.windowHave = at, 0
	}
	s.windowHave++
}

// accept reports whether a packet numbered next may follow the last accepted one
// (6.7.2). It is discarded when the signed 8-bit difference is -20 < next-last <= 0.
// Each source and universe has its own numbers.
func accept(last, next uint8) bool {
	d := int8(next - last)
	return d <= -20 || d > 0
}
