package pcapng

import (
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"net/netip"
	"time"
)

// Block types and options (draft-ietf-opsawg-pcapng, 4.1, 4.2, 4.3 and 3.5).
const (
	sectionHeader   = 0x0A0D0D0A
	byteOrderMagic  = 0x1A2B3C4D
	interfaceBlock  = 1
	enhancedPacket  = 6
	optEndOfOptions = 0
	optUserAppl     = 4 // of a section
	optTSResol      = 9 // of an interface
	nanoseconds     = 9 // its value: 10^-9 s
	linkRaw         = 101
)

// Errors of WriteUDP.
var (
	ErrAddress = errors.New("pcapng: not an IPv4 address")
	ErrLong    = errors.New("pcapng: longer than a UDP packet can be")
)

const (
	ipHeader  = 20
	udpHeader = 8
	mostData  = 65535 - ipHeader - udpHeader
)

// Writer writes a capture of one section with one interface.
type Writer struct {
	out   io.Writer
	buf   []byte
	ident uint16
}

// NewWriter writes the head of a capture. application is who made it.
func NewWriter(out io.Writer, application string) (*Writer, error) {
	w := &Writer{out: out}
	// 4.1: magic, version 1.0, section length not known.
	b := w.beginBlock(sectionHeader)
	b = le32(b, byteOrderMagic)
	b = append(b, 1, 0, 0, 0)
	b = binary.LittleEndian.AppendUint64(b, ^uint64(0))
	b = appendOption(b, optUserAppl, []byte(application))
	b = appendOption(b, optEndOfOptions, nil)
	b = endBlock(b, 0)
	// 4.2: link type, reserved, no limit of length.
	at := len(b)
	b = le32(le32(b, interfaceBlock), 0)
	b = append(b, linkRaw, 0, 0, 0)
	b = le32(b, 0)
	b = appendOption(b, optTSResol, []byte{nanoseconds})
	b = appendOption(b, optEndOfOptions, nil)
	return w, w.write(endBlock(b, at))
}

// WriteUDP writes one packet. Errors: ErrAddress, ErrLong, those of the writer.
func (w *Writer) WriteUDP(at time.Time, from, to netip.AddrPort, data []byte) error {
	switch {
	case !from.Addr().Is4():
		return fmt.Errorf("%w: %v", ErrAddress, from)
	case !to.Addr().Is4():
		return fmt.Errorf("%w: %v", ErrAddress, to)
	case len(data) > mostData:
		return fmt.Errorf("%w: have %d bytes, need at most %d", ErrLong, len(data), mostData)
	}
	// 4.3: interface, time in two halves, captured and original length, data.
	b := w.beginBlock(enhancedPacket)
	stamp := uint64(at.UnixNano())
	b = le32(b, 0)
	b = le32(le32(b, uint32(stamp>>32)), uint32(stamp))
	size := uint32(ipHeader + udpHeader + len(data))
	b = le32(le32(b, size), size)
	w.ident++
	b = appendUDP(b, w.ident, from, to, data)
	return w.write(endBlock(pad(b), 0))
}

func (w *Writer) beginBlock(kind uint32) []byte { return le32(le32(w.buf[:0], kind), 0) }

func (w *Writer) write(b []byte) error {
	w.buf = b
	_, err := w.out.Write(b)
	return err
}

// endBlock puts a block's length in front and behind (3.1).
func endBlock(b []byte, start int) []byte {
	size := uint32(len(b) - start + 4)
	binary.LittleEndian.PutUint32(b[start+4:], size)
	return le32(b, size)
}

func le32(b []byte, v uint32) []byte { return binary.LittleEndian.AppendUint32(b, v) }

// appendOption appends a code, a length and a value padded to 32 bits (3.5).
func appendOption(b []byte, code uint16, value []byte) []byte {
	value = value[:min(len(value), 1024)]
	b = binary.LittleEndian.AppendUint16(b, code)
	b = binary.LittleEndian.AppendUint16(b, uint16(len(value)))
	return pad(append(b, value...))
}

// pad fills up to 32 bits: all blocks begin at a multiple of that.
func pad(b []byte) []byte {
	for len(b)%4 != 0 {
		b = append(b, 0)
	}
	return b
}

// appendUDP appends an IPv4 packet (RFC 791, 3.1) with a UDP datagram (RFC 768).
func appendUDP(b []byte, ident uint16, from, to netip.AddrPort, data []byte) []byte {
	be16 := binary.BigEndian.AppendUint16
	start := len(b)
	b = append(b, 0x45, 0) // version 4, five words; ordinary service
	b = be16(b, uint16(ipHeader+udpHeader+len(data)))
	b = be16(b, ident)
	b = be16(b, 0)
	ttl := byte(64)
	if to.Addr().IsMulticast() {
		ttl = 1
	}
	b = append(b, ttl, 17, 0, 0) // UDP; checksum to come
	src, dst := from.Addr().As4(), to.Addr().As4()
	b = append(append(b, src[:]...), dst[:]...)
	binary.BigEndian.PutUint16(b[start+10:], ^checksum(0, b[start:]))
	udp := len(b)
	b = be16(be16(b, from.Port()), to.Port())
	b = be16(b, uint16(udpHeader+len(data)))
	b = append(be16(b, 0), data...)
	// The checksum is over a pseudo header too: addresses, protocol, length.
	check := ^checksum(uint32(checksum(17+uint32(udpHeader+len(data)), b[start+12:start+ipHeader])), b[udp:])
	if check == 0 {
		check = 0xFFFF // 0 would say that there is none
	}
	binary.BigEndian.PutUint16(b[udp+6:], check)
	return b
}

// checksum is the sum in ones' complement of 16-bit words (RFC 1071), with an odd
// byte at the end taken as a word's high one.
func checksum(s uint32, b []byte) uint16 {
	for ; len(b) > 1; b = b[2:] {
		s += uint32(b[0])<<8 | uint32(b[1])
	}
	if len(b) > 0 {
		s += uint32(b[0]) << 8
	}
	for s > 0xFFFF {
		s = s>>16 + s&0xFFFF
	}
	return uint16(s)
}
