package midi

// The functions below make messages to send. Running status is never used: each
// message has its status octet, so that a receiver that starts late or misses a
// message understands the next one.
//
//	8n kk vv  note off        9n kk vv  note on, vv 1..127
//	Bn cc vv  control change  Cn pp     program change
//
// Source: MIDI 1.0 Detailed Specification, channel voice messages. Channels are
// 1..16 and data 0..127; other values are limited to these ranges.

// NewNoteOn returns a note on. Velocity 0 would mean note off, so it becomes 1.
func NewNoteOn(channel, note, velocity uint8) Message {
	return channelMessage(0x90, channel, note, max(velocity, 1))
}

// NewNoteOff returns a note off with velocity 64, as keyboards send that do not
// measure it.
func NewNoteOff(channel, note uint8) Message { return channelMessage(0x80, channel, note, 64) }

// NewControlChange returns a control change.
func NewControlChange(channel, controller, value uint8) Message {
	return channelMessage(0xB0, channel, controller, value)
}

// NewProgramChange returns a program change; program 0 is the first.
func NewProgramChange(channel, program uint8) Message {
	m := channelMessage(0xC0, channel, program, 0)
	m.Len = 2
	return m
}

func channelMessage(status, channel, first, second uint8) Message {
	channel = min(max(channel, 1), 16) - 1
	return Message{Len: 3, Bytes: [3]byte{status | channel, min(first, 127), min(second, 127)}}
}

// AppendTo appends the octets of m to b: none for Lost.
func (m Message) AppendTo(b []byte) []byte { return append(b, m.Bytes[:min(m.Len, 3)]...) }
