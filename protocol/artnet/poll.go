package artnet

import "encoding/binary"

// ArtPoll asks all nodes to reply:
//
//	 0 12  head          OpCode 0x2000
//	12  1  Flags         see below
//	13  1  DiagPriority  0x10 low, 0x40 medium, 0x80 high, 0xE0 critical, 0xF0 volatile
//	14  2  TargetTop     high octet first, as are the rest
//	16  2  TargetBottom
//	18  2  EstaMan
//	20  2  Oem
//
// Some editions require 14 octets, others 12; missing ones count as zero.
const (
	pollMin   = 12
	pollShort = 14
	pollLen   = 22
)

// The flags of an ArtPoll.
const (
	PollReplyOnChange uint8 = 1 << 1 // also reply when something changes
	PollDiagnostics   uint8 = 1 << 2 // send diagnostics to the sender of the poll
	PollDiagUnicast   uint8 = 1 << 3 // send diagnostics by unicast
	PollVLCOff        uint8 = 1 << 4
	PollTargeted      uint8 = 1 << 5 // only nodes with a Port-Address in the target range reply
)

// Poll is an ArtPoll packet.
type Poll struct {
	Flags        uint8
	DiagPriority uint8
	// TargetBottom to TargetTop is the range of Port-Addresses polled, both
	// included, when Flags has PollTargeted.
	TargetTop, TargetBottom uint16
	ESTA, OEM               uint16 // codes of the sender's manufacturer and product
}

// AppendTo appends the packet: 22 octets when targeted, else the 14 octets that
// every node understands.
func (p *Poll) AppendTo(b []byte) []byte {
	b = appendHead(b, OpPoll)
	b = append(b, p.Flags, p.DiagPriority)
	if p.Flags&PollTargeted == 0 {
		return b
	}
	b = binary.BigEndian.AppendUint16(b, p.TargetTop)
	b = binary.BigEndian.AppendUint16(b, p.TargetBottom)
	b = binary.BigEndian.AppendUint16(b, p.ESTA)
	return binary.BigEndian.AppendUint16(b, p.OEM)
}

// Parse reads b. Errors: ErrShort, ErrID, ErrOpCode, ErrVersion; on an error p does
// not change.
func (p *Poll) Parse(b []byte) error {
	if err := parseHead(b, OpPoll, pollMin); err != nil {
		return err
	}
	var full [pollLen]byte
	copy(full[:], b)
	*p = Poll{Flags: full[12], DiagPriority: full[13]}
	if p.Flags&PollTargeted != 0 {
		p.TargetTop = binary.BigEndian.Uint16(full[14:])
		p.TargetBottom = binary.BigEndian.Uint16(full[16:])
		p.ESTA = binary.BigEndian.Uint16(full[18:])
		p.OEM = binary.BigEndian.Uint16(full[20:])
	}
	return nil
}
