package midi

import "tactus/clock"

// Kind says what a Message means.
type Kind uint8

// The kinds of message. SysEx never becomes a Message.
const (
	Undefined Kind = iota // F9, FD, or a Message that no Stream made
	Lost                  // not MIDI: the port has gone (Len 0)
	NoteOff               // 8n, and 9n with velocity 0
	NoteOn                // 9n
	PolyPressure
	ControlChange
	ProgramChange
	ChannelPressure
	PitchBend
	TimeCode      // F1
	SongPosition  // F2
	SongSelect    // F3
	TuneRequest   // F6
	Tick          // F8
	Start         // FA
	Continue      // FB
	Stop          // FC
	ActiveSensing // FE
	SystemReset   // FF
)

// String returns the name of the kind for logs.
func (k Kind) String() string {
	names := [...]string{
		"undefined", "port lost", "note off", "note on", "poly pressure",
		"control change", "program change", "channel pressure", "pitch bend", "time code",
		"song position", "song select", "tune request", "tick", "start", "continue", "stop",
		"active sensing", "system reset",
	}
	if int(k) >= len(names) {
		return names[0]
	}
	return names[k]
}

// Status octets of system messages (MIDI 1.0, system common and real time).
const (
	timeCode      byte = 0xF1
	songPosition  byte = 0xF2
	songSelect    byte = 0xF3
	tuneRequest   byte = 0xF6
	timingClock   byte = 0xF8
	start         byte = 0xFA
	continueAt    byte = 0xFB
	stop          byte = 0xFC
	activeSensing byte = 0xFE
	systemReset   byte = 0xFF
)

// Message is one complete message with its time of arrival. Len 0 means that its
// port was lost.
type Message struct {
	At    clock.Time
	Port  uint8 // Options.Number of its port
	Len   uint8 // octets in Bytes, 1..3; 0 for Lost
	Bytes [3]byte
}

// Kind returns the kind of m.
func (m Message) Kind() Kind {
	s := m.Bytes[0]
	switch {
	case m.Len == 0:
		return Lost
	case s < 0x80:
		return Undefined
	case s >= 0xF0:
		return systemKind(s)
	}
	switch s & 0xF0 {
	case 0x80:
		return NoteOff
	case 0x90:
		if m.Bytes[2] == 0 {
			return NoteOff
		}
		return NoteOn
	case 0xA0:
		return PolyPressure
	case 0xB0:
		return ControlChange
	case 0xC0:
		return ProgramChange
	case 0xD0:
		return ChannelPressure
	}
	return PitchBend
}

func systemKind(s byte) Kind {
	switch s {
	case timeCode:
		return TimeCode
	case songPosition:
		return SongPosition
	case songSelect:
		return SongSelect
	case tuneRequest:
		return TuneRequest
	case timingClock:
		return Tick
	case start:
		return Start
	case continueAt:
		return Continue
	case stop:
		return Stop
	case activeSensing:
		return ActiveSensing
	case systemReset:
		return SystemReset
	}
	return Undefined
}

// Channel returns 1..16 for a channel message and 0 for any other.
func (m Message) Channel() uint8 {
	if m.Len == 0 || m.Bytes[0] < 0x80 || m.Bytes[0] >= 0xF0 {
		return 0
	}
	return m.Bytes[0]&0x0F + 1
}

// Note returns the key, 0..127, of a note or poly pressure message.
func (m Message) Note() uint8 { return m.Bytes[1] & 0x7F }

// Velocity returns 0..127 for a note message.
func (m Message) Velocity() uint8 { return m.Bytes[2] & 0x7F }

// Program returns 0..127 for a program change. Many devices count programs from 1.
func (m Message) Program() uint8 { return m.Bytes[1] & 0x7F }

// Controller returns the number, 0..127, of a control change.
func (m Message) Controller() uint8 { return m.Bytes[1] & 0x7F }

// Value returns 0..127 for a control change.
func (m Message) Value() uint8 { return m.Bytes[2] & 0x7F }

// SongSixteenths returns the song position, 0..16383, in MIDI beats of six ticks.
func (m Message) SongSixteenths() int32 {
	return int32(m.Bytes[1]&0x7F) | int32(m.Bytes[2]&0x7F)<<7
}

// ClockEvent converts m to an event for the clock; false when m is not about the
// clock.
func (m Message) ClockEvent() (clock.Event, bool) {
	e := clock.Event{At: m.At}
	switch m.Kind() {
	case Tick:
		e.Kind = clock.Tick24
	case Start:
		e.Kind = clock.Start
	case Continue:
		e.Kind = clock.Continue
	case Stop:
		e.Kind = clock.Stop
	case SongPosition:
		e.Kind = clock.Locate
		e.Sixteenths = m.SongSixteenths()
	case Lost:
		e.Kind = clock.Lost
	default:
		return clock.Event{}, false
	}
	return e, true
}
