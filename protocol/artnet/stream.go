package artnet

import (
	"bytes"

	"tactus/clock"
	"tactus/protocol/dmx"
)

const (
	// keepAlive is the time after which unchanged levels are sent again. The
	// standard recommends 800 to 1000 ms, to match E1.31. Waiting for the next frame
	// makes it 850 to 900.
	keepAlive = 850 * clock.Millisecond
	// changeCopies is how often a change is sent, so that a lost packet does not
	// delay it by 850 ms. Art-Net has no rule; three is from E1.31-2018, 6.6.2.
	changeCopies = 3
)

// stream is one universe to send: its packet, modified for every frame, and its
// schedule.
type stream struct {
	source   int
	onChange bool
	period   clock.Time
	next     clock.Time // earliest time of the next packet, by rate
	last     clock.Time // time of the last packet
	started  bool
	copies   int // how often the present levels are still to be sent, with OnChange
	packet   []byte
	buffers  [][]byte // packet in the form that messages need
	links    []*link
}

func newStream(c UniverseConfig) stream {
	slots := (c.Slots + 1) &^ 1
	// prepare goes to the next number before each packet.
	d := Dmx{PortAddress: c.PortAddress, Sequence: max(c.Sequence, 1) - 1, Data: make([]byte, slots)}
	s := stream{
		source:   c.Source,
		onChange: c.OnChange,
		period:   clock.Second / clock.Time(c.Rate),
		packet:   d.AppendTo(nil),
	}
	s.buffers = [][]byte{s.packet}
	return s
}

// due reports whether to send levels in the frame at now.
//
// A schedule keeps the rate, instead of a gap between packets, so that 40 Hz sends
// in 40 of 44 frames. Frames may come early by a tenth of a period. After a late
// frame at most one period is made up, so there is no burst.
func (s *stream) due(now clock.Time, levels *[dmx.Slots]byte) bool {
	if !s.started {
		return true
	}
	if s.onChange {
		if !bytes.Equal(levels[:len(s.packet)-offData], s.packet[offData:]) {
			s.copies = changeCopies
		}
		if s.copies == 0 && now-s.last < keepAlive {
			return false
		}
	}
	if s.next-now > 2*s.period { // the clock was set back
		s.next = now
	}
	return now >= s.next-s.period/10
}

// prepare patches the packet with the levels and the next sequence number.
func (s *stream) prepare(now clock.Time, levels *[dmx.Slots]byte) {
	if !s.started {
		s.started, s.next, s.copies = true, now, changeCopies
	}
	// After a pause, or with fewer frames than the rate, at most one packet may
	// follow early. Otherwise a late frame could make the next frame miss its
	// packet.
	s.next = max(s.next+s.period, now)
	s.last = now
	s.copies = max(s.copies-1, 0)
	s.packet[offSequence] = NextSequence(s.packet[offSequence])
	copy(s.packet[offData:], levels[:])
}

// resend makes a stream with OnChange send its levels at once.
func (s *stream) resend() { s.copies = changeCopies }
