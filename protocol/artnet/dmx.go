package artnet

import (
	"encoding/binary"
	"fmt"

	"tactus/protocol/dmx"
)

// ArtDmx carries the levels of one universe:
//
//	 0 12  head       OpCode 0x5000
//	12  1  Sequence   1..255, then 1 again; 0 = not in use
//	13  1  Physical   number of the physical input, for information
//	14  1  SubUni     Sub-Net 7..4, Universe 3..0
//	15  1  Net        bit 7 is zero
//	16  2  Length     high octet first; even, 2..512
//	18  n  Data       slot 1 first
const (
	offSequence = 12
	offSubUni   = 14
	offLength   = 16
	offData     = 18
)

// Dmx is an ArtDmx packet.
type Dmx struct {
	Sequence    uint8  // 0 = receivers do not check the order
	Physical    uint8  // 0..255
	PortAddress uint16 // 0..32767
	// Data holds the slots. After Parse it is a slice of the parsed octets.
	Data []byte
}

// AppendTo appends the packet. It cuts Data at 512 slots, and adds zeros up to an
// even length of at least 2, because strict nodes drop other lengths.
func (d *Dmx) AppendTo(b []byte) []byte {
	data := d.Data[:min(len(d.Data), dmx.Slots)]
	size := max(2, (len(data)+1)&^1)
	b = appendHead(b, OpDmx)
	b = append(b, d.Sequence, d.Physical, byte(d.PortAddress), byte(d.PortAddress>>8)&0x7f)
	b = binary.BigEndian.AppendUint16(b, uint16(size))
	b = append(b, data...)
	for n := len(data); n < size; n++ {
		b = append(b, 0)
	}
	return b
}

// Parse reads b; it ignores octets after the data. Errors: ErrShort, ErrID,
// ErrOpCode, ErrVersion, ErrAddress, ErrLength; on an error d does not change.
func (d *Dmx) Parse(b []byte) error {
	if err := parseHead(b, OpDmx, offData); err != nil {
		return err
	}
	address := binary.LittleEndian.Uint16(b[offSubUni:])
	if address > MaxPortAddress {
		return fmt.Errorf("%w: have %d", ErrAddress, address)
	}
	size := int(binary.BigEndian.Uint16(b[offLength:]))
	if size < 2 || size > dmx.Slots || size%2 != 0 {
		return fmt.Errorf("%w: have %d", ErrLength, size)
	}
	if len(b) < offData+size {
		return fmt.Errorf("%w: have %d, need %d", ErrShort, len(b), offData+size)
	}
	*d = Dmx{
		Sequence:    b[offSequence],
		Physical:    b[offSequence+1],
		PortAddress: address,
		Data:        b[offData : offData+size : offData+size],
	}
	return nil
}

// NextSequence returns the sequence number after n: 1 to 255, then 1 again, because
// 0 means no numbers.
func NextSequence(n uint8) uint8 {
	if n == 255 {
		return 1
	}
	return n + 1
}
