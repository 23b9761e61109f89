package artnet

import (
	"encoding/binary"
	"errors"
	"fmt"
)

// Port is the UDP port of Art-Net (0x1936).
const Port = 6454

// maxPacket is in octets, and larger than any packet.
const maxPacket = 1500

// ProtVer is the protocol version in Art-Net 4 packets.
const ProtVer = 14

// MaxPortAddress is the highest of the 15-bit Port-Addresses.
const MaxPortAddress = 1<<15 - 1

// OpCode is the type of a packet. It is sent low octet first.
type OpCode uint16

// The packets that this package reads and writes.
const (
	OpPoll      OpCode = 0x2000
	OpPollReply OpCode = 0x2100
	OpDmx       OpCode = 0x5000
	OpSync      OpCode = 0x5200
)

// Errors of packets. Parse wraps them with the offending numbers.
var (
	ErrShort   = errors.New("artnet: packet too short")
	ErrID      = errors.New("artnet: not an Art-Net packet")
	ErrOpCode  = errors.New("artnet: unexpected OpCode")
	ErrVersion = errors.New("artnet: protocol version too old")
	ErrLength  = errors.New("artnet: data length not even or not 2 to 512")
	ErrAddress = errors.New("artnet: port-address above 32767")
)

// All packets start with the same head:
//
//	 0  8  ID       "Art-Net" and a zero octet
//	 8  2  OpCode   low octet first
//	10  2  ProtVer  high octet first; absent in ArtPollReply
const (
	packetID   = "Art-Net\x00"
	offOpCode  = 8
	offProtVer = 10
	headLen    = 12
)

// OpCodeOf returns the OpCode of b. Errors: ErrShort, ErrID.
func OpCodeOf(b []byte) (OpCode, error) {
	if len(b) < offProtVer {
		return 0, fmt.Errorf("%w: have %d, need %d", ErrShort, len(b), offProtVer)
	}
	if string(b[:offOpCode]) != packetID {
		return 0, fmt.Errorf("%w: starts with % x", ErrID, b[:offOpCode])
	}
	return OpCode(binary.LittleEndian.Uint16(b[offOpCode:])), nil
}

// appendHead appends the ID, the OpCode and ProtVer.
func appendHead(b []byte, op OpCode) []byte {
	b = append(b, packetID...)
	b = binary.LittleEndian.AppendUint16(b, uint16(op))
	return binary.BigEndian.AppendUint16(b, ProtVer)
}

// parseHead checks the head of a packet with ProtVer. It reads versions above 14 as
// 14, because later versions only add fields at the end of packets.
func parseHead(b []byte, want OpCode, size int) error {
	op, err := OpCodeOf(b)
	if err != nil {
		return err
	}
	if op != want {
		return fmt.Errorf("%w: have 0x%04X, need 0x%04X", ErrOpCode, uint16(op), uint16(want))
	}
	if len(b) < size {
		return fmt.Errorf("%w: have %d, need %d", ErrShort, len(b), size)
	}
	if v := binary.BigEndian.Uint16(b[offProtVer:]); v < ProtVer {
		return fmt.Errorf("%w: have %d, need %d", ErrVersion, v, ProtVer)
	}
	return nil
}

// AddressName formats a Port-Address as a number, 0 to 32767, and as the Net (7
// bits), Sub-Net and Universe (4 bits each) that many nodes show.
func AddressName(portAddress uint16) string {
	return fmt.Sprintf("%d (net %d, sub-net %d, universe %d)",
		portAddress, portAddress>>8&0x7f, portAddress>>4&0xf, portAddress&0xf)
}
