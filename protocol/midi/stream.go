package midi

// Stream finds messages in a byte stream (MIDI 1.0 Detailed Specification,
// running status and system messages). Its zero value is ready for use.
//
//	80..EF  channel status: kept as running status, 1 or 2 data octets follow
//	F0..F7  SysEx until F7 or another status: skipped
//	F1 F3   1 data octet      F2  2      F6  none: cancel running status
//	F4 F5   undefined: cancel running status, their data is dropped
//	F8..FF  real time: anywhere, also inside others; change nothing
//
// A status octet ends an unfinished message, which is dropped.
type Stream struct {
	status byte // of the message being read, or running status; 0 for none
	first  byte // its first data octet
	have   uint8
}

// Byte reads the next octet and returns the message that it completes, if any. The
// caller sets At and Port.
func (s *Stream) Byte(b byte) (Message, bool) {
	switch {
	case b >= 0xF8:
		return Message{Len: 1, Bytes: [3]byte{b}}, true
	case b >= 0x80:
		return s.begin(b)
	case s.status == 0:
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
		s.status = 0 // only channel messages have running status
	}
	return m, true
}

// begin handles a status octet 80..F7.
func (s *Stream) begin(b byte) (Message, bool) {
	s.status, s.have = b, 0
	switch b {
	case tuneRequest:
		s.status = 0
		return Message{Len: 1, Bytes: [3]byte{b}}, true
	case 0xF0, 0xF4, 0xF5, 0xF7:
		s.status = 0
	}
	return Message{}, false
}

// dataOctets returns the number of data octets after status, 1 or 2, for 80..EF, F1,
// F2 and F3.
func dataOctets(status byte) int {
	switch {
	case status >= 0xC0 && status < 0xE0, status == timeCode, status == songSelect:
		return 1
	}
	return 2
}
