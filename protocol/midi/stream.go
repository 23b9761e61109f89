package midi

// Stream finds messages in a byte stream (MIDI 1.0 Detailed Specification,
// running status and system messages). Its zero value is ready for use.
//
//	80..EF  channel status: kept as running status, 1 or 2 data octets follow
//	F0..F7  SysEx until F7 or another status; it is skipped, not kept
//	F1 F3   1 data octet      F2  2      F6  none: cancel running status
//	F4 F5   undefined: cancel running status, their data is dropped
//	F8..FF  real time: anywhere, also inside others; change nothing
//
// A status octet ends an unfinished message, which is dropped and counted.
type Stream struct {
	status byte // of the message being read, or running status; 0 for none
	first  byte // its first data octet
	have   uint8
	sysex  bool

	sysexes uint64
	dropped uint64
}

// SysEx returns how many system exclusive messages were skipped.
func (s *Stream) SysEx() uint64 { return s.sysexes }

// Dropped returns how many octets belonged to no message.
func (s *Stream) Dropped() uint64 { return s.dropped }

// Reset forgets an unfinished message and running status, as after a lost
// port; the counts stay.
func (s *Stream) Reset() { s.status, s.have, s.sysex = 0, 0, false }

// Byte takes the next octet and returns the message that it completes, if
// any. The caller sets At and Port.
func (s *Stream) Byte(b byte) (Message, bool) {
	switch {
	case b >= 0xF8:
		return Message{Len: 1, Bytes: [3]byte{b}}, true
	case b >= 0x80:
		return s.take(b)
	case s.sysex:
		return Message{}, false
	case s.status == 0:
		s.dropped++
		return Message{}, false
	}
	if dataOctets(s.status) == 2 && s.have == 0 {
		s.first, s.have = b, 1
		return Message{}, false
	}
	m := Message{Len: 2, Bytes: [3]byte{s.status, b}}
	if s.have == 1 {
		m.Len, m.Bytes = 3, [3]byte{s.status, s.first, b}
	}
	s.have = 0
	if s.status >= 0xF0 {
		s.status = 0 // running status is for channel messages only
	}
	return m, true
}

// take handles a status octet 80..F7.
func (s *Stream) take(b byte) (Message, bool) {
	s.dropped += uint64(s.have)
	s.have = 0
	s.sysex = false
	switch b {
	case 0xF0:
		s.status, s.sysex = 0, true
		s.sysexes++
	case tuneRequest:
		s.status = 0
		return Message{Len: 1, Bytes: [3]byte{b}}, true
	case 0xF4, 0xF5, 0xF7:
		s.status = 0
	default:
		s.status = b
	}
	return Message{}, false
}

// dataOctets returns how many data octets follow status, 1 or 2, for 80..EF,
// F1, F2 and F3.
func dataOctets(status byte) int {
	switch {
	case status >= 0xC0 && status < 0xE0, status == timeCode, status == songSelect:
		return 1
	}
	return 2
}
