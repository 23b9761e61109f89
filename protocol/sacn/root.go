package sacn

import (
	"encoding/binary"
	"errors"
	"fmt"
	"net/netip"
)

// Port is the UDP port of E1.31 (9.1.1).
const Port = 5568

// Group returns the IPv4 multicast group of a universe or synchronization
// address: 239.255 and the number (9.3.1).
func Group(universe uint16) netip.Addr {
	return netip.AddrFrom4([4]byte{239, 255, byte(universe >> 8), byte(universe)})
}

// Reasons to discard a packet. Parse wraps one of them with the numbers that
// failed.
var (
	ErrShort      = errors.New("sacn: packet too short")
	ErrPreamble   = errors.New("sacn: wrong preamble or postamble size")  // 5.1, 5.2
	ErrIdentifier = errors.New("sacn: not an ACN packet")                 // 5.3
	ErrLength     = errors.New("sacn: length field does not fit")         // 5.4, 6.1, 7.1, 8.1
	ErrVector     = errors.New("sacn: unknown vector")                    // 5.5, 6.2.1, 7.2, 8.2
	ErrAddressing = errors.New("sacn: wrong address type, start or step") // 7.3, 7.4, 7.5
	ErrCount      = errors.New("sacn: wrong property value count")        // 7.6
	ErrUniverse   = errors.New("sacn: universe number out of range")      // 6.2.7, 6.3.3
	ErrPage       = errors.New("sacn: page number out of range")          // 8.3, 8.4
)

// The ACN root layer, common to all packets (E1.31-2018 clause 5).
//
//	offset size field
//	0      2    preamble size, 0x0010
//	2      2    postamble size, 0x0000
//	4      12   "ASC-E1.17" and three zeros
//	16     2    flags 0x7 and length, counted from offset 16 to the end
//	18     4    vector: 4 data, 8 extended
//	22     16   CID of the sender
//	38     2    framing layer: flags 0x7 and length, counted from offset 38
//	40     4    framing vector
const (
	rootData     = 0x00000004 // VECTOR_ROOT_E131_DATA
	rootExtended = 0x00000008 // VECTOR_ROOT_E131_EXTENDED

	offRoot    = 16
	offCID     = 22
	offFraming = 38
	offName    = 44 // of data and discovery packets
	headerLen  = 44
)

// acnHeader is the first 16 octets of every packet (5.1 to 5.3).
const acnHeader = "\x00\x10\x00\x00ASC-E1.17\x00\x00\x00"

// MaxPacket is the size of the largest packet, a discovery page with 512
// universes; a data packet has at most 638 octets.
const MaxPacket = 1144

// Kind is the kind of a datagram.
type Kind uint8

// The kinds of packet.
const (
	Data Kind = iota + 1
	Sync
	Discovery
)

// KindOf reads the root and framing vectors of b, which must start with a
// good ACN header.
func KindOf(b []byte) (Kind, error) {
	if len(b) < headerLen {
		return 0, fmt.Errorf("%w: have %d, need %d", ErrShort, len(b), headerLen)
	}
	if string(b[:4]) != acnHeader[:4] {
		return 0, fmt.Errorf("%w: % x", ErrPreamble, b[:4])
	}
	if string(b[4:16]) != acnHeader[4:] {
		return 0, fmt.Errorf("%w: % x", ErrIdentifier, b[4:16])
	}
	root, framing := binary.BigEndian.Uint32(b[18:]), binary.BigEndian.Uint32(b[40:])
	switch {
	case root == rootData && framing == 2: // VECTOR_E131_DATA_PACKET
		return Data, nil
	case root == rootExtended && framing == 1: // VECTOR_E131_EXTENDED_SYNCHRONIZATION
		return Sync, nil
	case root == rootExtended && framing == 2: // VECTOR_E131_EXTENDED_DISCOVERY
		return Discovery, nil
	}
	return 0, fmt.Errorf("%w: root %d, framing %d", ErrVector, root, framing)
}

// checkHeader checks the outer two layers of b, which must be a packet of kind
// want with at least min octets.
func checkHeader(b []byte, want Kind, min int) error {
	kind, err := KindOf(b)
	if err != nil {
		return err
	}
	if kind != want {
		return fmt.Errorf("%w: kind %d, need %d", ErrVector, kind, want)
	}
	if len(b) < min {
		return fmt.Errorf("%w: have %d, need %d", ErrShort, len(b), min)
	}
	if err := checkLength(b, offRoot); err != nil {
		return err
	}
	return checkLength(b, offFraming)
}

// checkLength checks the flags and length field at off: the length counts from
// the field itself to the end of the packet.
func checkLength(b []byte, off int) error {
	got, need := int(binary.BigEndian.Uint16(b[off:])), 0x7000+len(b)-off
	if len(b)-off > 0x0fff || got != need {
		return fmt.Errorf("%w: have %#04x at %d, need %#04x", ErrLength, got, off, need)
	}
	return nil
}

// appendLength appends the flags and length of a layer of n octets.
func appendLength(b []byte, n int) []byte {
	return binary.BigEndian.AppendUint16(b, 0x7000|uint16(n))
}

// appendHeader appends the outer two layers up to the framing vector, for a
// packet of size octets.
func appendHeader(b []byte, size int, root uint32, cid [16]byte, framing uint32) []byte {
	b = append(b, acnHeader...)
	b = appendLength(b, size-offRoot)
	b = binary.BigEndian.AppendUint32(b, root)
	b = append(b, cid[:]...)
	b = appendLength(b, size-offFraming)
	return binary.BigEndian.AppendUint32(b, framing)
}
