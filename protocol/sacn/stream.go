package sacn

import (
	"bytes"
	"encoding/binary"

	"golang.org/x/net/ipv4"

	"tactus/clock"
	"tactus/protocol/dmx"
	"tactus/protocol/udp"
)

const (
	// repeats is how often a changed value is sent: three packets hold it
	// before the source may fall silent (6.6.2), which is read here as the
	// changed packet and three more, the stricter of two readings.
	repeats = 4
	// keepAlive is when a silent universe sends again: the first frame after
	// it is at most 883 ms at 44 frames a second, inside 800..1000 (6.6.2).
	keepAlive = 860 * clock.Millisecond
)

// stream is one universe: its packet, made once and patched, and when it is
// due.
type stream struct {
	source      int
	packet      []byte
	messages    []ipv4.Message // the packet to each destination
	pace        pace
	onChange    bool
	repeatsLeft int        // packets still to be sent for the present levels
	sentAt      clock.Time // of the latest packet
	started     bool
}

func newStream(c *SenderConfig, u *UniverseConfig) stream {
	p := DataPacket{
		CID: c.CID, SourceName: NewSourceName(c.SourceName), Priority: u.Priority,
		SyncAddress: c.Sync, Universe: u.Number, Slots: make([]byte, u.Slots),
		Sequence: 255, // the first packet is number 0
	}
	if c.Sync != 0 {
		p.Options = ForceSynchronization
	}
	s := stream{source: u.Source, packet: p.AppendTo(nil), onChange: u.OnChange, pace: pace{rate: int64(u.Rate)}}
	for _, to := range u.destinations() {
		s.messages = append(s.messages, udp.Message(s.packet, to))
	}
	return s
}

func (s *stream) slots() []byte { return s.packet[offSlots:] }

// prepare reports whether a packet is due, and if so makes it: the levels of from
// and the next sequence number.
func (s *stream) prepare(now clock.Time, from *dmx.Universe) bool {
	levels := from.Slots[:len(s.slots())]
	if !s.due(now, levels) {
		return false
	}
	copy(s.slots(), levels)
	s.countUp()
	s.pace.spend()
	s.sentAt, s.started = now, true
	return true
}

func (s *stream) due(now clock.Time, levels []byte) bool {
	ready := s.pace.ready(now)
	if !s.onChange {
		return ready
	}
	if !s.started || !bytes.Equal(levels, s.slots()) {
		s.repeatsLeft = repeats
	}
	if (ready && s.repeatsLeft > 0) || (s.started && now-s.sentAt >= keepAlive) {
		s.repeatsLeft = max(s.repeatsLeft-1, 0)
		return true
	}
	return false
}

// countUp steps the sequence number, which counts every packet of the universe,
// keep-alives and terminations too (6.2.5, 6.6.2).
func (s *stream) countUp() { s.packet[offSequence]++ }

// terminate marks the stream as ending (6.2.6). The synchronization address is
// cleared, so that receivers act at once and hold nothing (6.2.4.1).
func (s *stream) terminate() {
	s.packet[offOptions] = byte(StreamTerminated)
	binary.BigEndian.PutUint16(s.packet[offSyncAddr:], 0)
}

// resend makes sure that the present levels go out again.
func (s *stream) resend() { s.repeatsLeft = repeats }
