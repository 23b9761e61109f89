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
	// repeats is how often changed levels are sent. The standard asks for three
	// packets before the source may stop sending (6.6.2). This code uses the
	// stricter of two readings: the changed packet and three more.
	repeats = 4
	// keepAlive is the time after which unchanged levels are sent again. With 44
	// frames a second the next frame is at most 883 ms after the last packet, within
	// 800..1000 (6.6.2).
	keepAlive = 860 * clock.Millisecond
)

// stream is one universe: its packet, made once and then modified, and its schedule.
type stream struct {
	source      int
	packet      []byte
	messages    []ipv4.Message // the packet to each destination
	addresses   []int32        // of messages: each address of the sender has a number
	places      []int32        // of messages: the order of packets in a spread frame
	pace        pace
	onChange    bool
	repeatsLeft int        // packets still to be sent for the present levels
	sentAt      clock.Time // time of the latest packet
	started     bool
	paused      bool // its priority would be below 0
	endings     int  // packets still to be sent that end a paused stream
}

func newStream(c *SenderConfig, u *UniverseConfig) stream {
	p := DataPacket{
		CID: c.CID, SourceName: NewSourceName(c.SourceName), Priority: u.Priority,
		SyncAddress: c.Sync, Universe: u.Number, Slots: make([]byte, u.Slots),
		Sequence: u.Sequence - 1, // countUp comes before each packet
		Options:  c.options(),
	}
	s := stream{source: u.Source, packet: p.AppendTo(nil), onChange: u.OnChange, pace: pace{rate: int64(u.Rate)}}
	for _, to := range u.destinations() {
		s.messages = append(s.messages, udp.Message(s.packet, to))
	}
	return s
}

func (s *stream) slots() []byte { return s.packet[offSlots:] }

// prepare reports whether a packet is due, and if so puts the levels of from and the
// next sequence number into it.
func (s *stream) prepare(now clock.Time, from *dmx.Universe) bool {
	if s.paused {
		return s.ending()
	}
	levels := from.Slots[:len(s.slots())]
	if !s.due(now, levels) {
		return false
	}
	copy(s.slots(), levels)
	s.countUp()
	s.pace.countPacket()
	s.sentAt, s.started = now, true
	return true
}

func (s *stream) due(now clock.Time, levels []byte) bool {
	ready := s.pace.packetDue(now)
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

// countUp increments the sequence number, which counts every packet of the universe,
// including keep-alives and terminations (6.2.5, 6.6.2).
func (s *stream) countUp() { s.packet[offSequence]++ }

// terminate marks the stream as ending (6.2.6). It clears the synchronization
// address, so that receivers act at once (6.2.4.1).
func (s *stream) terminate() {
	s.packet[offOptions] = byte(StreamTerminated)
	binary.BigEndian.PutUint16(s.packet[offSyncAddr:], 0)
}

// resend schedules the present levels to be sent again.
func (s *stream) resend() { s.repeatsLeft = repeats }
