package artnet

import (
	"bytes"

	"tactus/clock"
	"tactus/protocol/dmx"
)

const (
	// keepAlive is when unchanged levels are sent again: 800 to 1000 ms is
	// recommended, to match E1.31. The frame grid adds up to a frame: 850 to 900.
	keepAlive = 850 * clock.Millisecond
	// changeCopies is how often a change is sent. Art-Net has no rule; three is
	// that of E1.31-2018, 6.6.2, so that one lost packet is not seen for 850 ms.
	changeCopies = 3
)

// stream is one universe on its way out: the packet, patched every frame.
type stream struct {
	source   int
	onChange bool
	period   clock.Time
	next     clock.Time // not before, by rate
	last     clock.Time // when it was sent
	started  bool
	copies   int // that the present levels are still to be sent, on change
	packet   []byte
	buffers  [][]byte // packet, as messages want it
	links    []*link
}

func newStream(c UniverseConfig) stream {
	slots := (c.Slots + 1) &^ 1
	d := Dmx{PortAddress: c.PortAddress, Data: make([]byte, slots)}
	s := stream{
		source:   c.Source,
		onChange: c.OnChange,
		period:   clock.Second / clock.Time(c.Rate),
		packet:   d.AppendTo(nil),
	}
	s.buffers = [][]byte{s.packet}
	return s
}

// due says whether levels go out in the frame at now.
//
// The rate is kept by a schedule, not by a gap, so that 40 of 44 frames are
// sent for 40 Hz. A tenth of a period of slack lets frames come a little
// early; a late frame earns one period at most, so nothing is made up in a
// burst.
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
	// After a pause, or with frames rarer than the rate, one packet may follow
	// early, and no more. Without that one, a late frame would cost the next its
	// turn wherever the schedule lies late on the frame grid.
	s.next = max(s.next+s.period, now)
	s.last = now
	s.copies = max(s.copies-1, 0)
	s.packet[offSequence] = NextSequence(s.packet[offSequence])
	copy(s.packet[offData:], levels[:])
}

// resend makes an on-change stream send its levels at once.
func (s *stream) resend() { s.copies = changeCopies }
