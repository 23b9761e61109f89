package sacn

import (
	"encoding/binary"
	"fmt"

	"tactus/protocol/dmx"
)

// Options are the flags of a data packet (6.2.6).
type Options uint8

// The options. The lower five bits are sent as 0 and ignored.
const (
	PreviewData          Options = 0x80 // not for live output
	StreamTerminated     Options = 0x40 // the source stops; its slots are ignored
	ForceSynchronization Options = 0x20 // continue without sync packets if they stop
)

// The limits of a universe number (6.2.7) and a priority (6.2.3).
const (
	MinUniverse     = 1
	MaxUniverse     = 63999
	MaxPriority     = 200
	DefaultPriority = 100
)

// NullStart is the START code of dimmer levels (E1.11). Packets with other codes
// carry no levels.
const NullStart = 0x00

// DataPacket carries the slots of one universe (E1.31-2018 Table 4-1), after
// the layers in root.go:
//
//	offset size field
//	44     64   source name, UTF-8, zero-terminated
//	108    1    priority, 0..200
//	109    2    synchronization address, 0 = none
//	111    1    sequence number
//	112    1    options
//	113    2    universe, 1..63999
//	115    2    DMP layer: flags 0x7 and length
//	117    1    DMP vector 0x02, set property
//	118    1    address type and data type 0xA1
//	119    2    first property address 0x0000
//	121    2    address increment 0x0001
//	123    2    property value count, 1 + slots
//	125    1    START code
//	126    n    slots, 0..512
type DataPacket struct {
	CID         [16]byte
	SourceName  SourceName
	Priority    uint8  // 0..200, higher wins
	SyncAddress uint16 // universe of the sync packets to wait for, 0 = none
	Sequence    uint8
	Options     Options
	Universe    uint16
	StartCode   uint8
	Slots       []byte // 0..512
}

const (
	offPriority = 108
	offSyncAddr = 109
	offSequence = 111
	offOptions  = 112
	offUniverse = 113
	offDMP      = 115
	offStart    = 125
	offSlots    = 126
)

// AppendTo appends the packet. Slots beyond 512 are not sent.
func (p *DataPacket) AppendTo(b []byte) []byte {
	slots := p.Slots[:min(len(p.Slots), dmx.Slots)]
	size := offSlots + len(slots)
	b = appendHeader(b, size, rootData, p.CID, 2)
	b = append(b, p.SourceName[:]...)
	b = append(b, p.Priority)
	b = binary.BigEndian.AppendUint16(b, p.SyncAddress)
	b = append(b, p.Sequence, byte(p.Options))
	b = binary.BigEndian.AppendUint16(b, p.Universe)
	b = appendLength(b, size-offDMP)
	b = append(b, 0x02, 0xA1, 0, 0, 0, 1)
	b = binary.BigEndian.AppendUint16(b, uint16(1+len(slots)))
	b = append(b, p.StartCode)
	return append(b, slots...)
}

// Parse reads a whole datagram. It copies into p and reuses p.Slots. On an error p
// does not change.
func (p *DataPacket) Parse(b []byte) error {
	if err := checkHeader(b, Data, offSlots); err != nil {
		return err
	}
	if err := checkLength(b, offDMP); err != nil {
		return err
	}
	if b[117] != 0x02 {
		return fmt.Errorf("%w: DMP %d, need 2", ErrVector, b[117])
	}
	if b[118] != 0xA1 || b[119] != 0 || b[120] != 0 || b[121] != 0 || b[122] != 1 {
		return fmt.Errorf("%w: % x, need a1 00 00 00 01", ErrAddressing, b[118:123])
	}
	count := int(binary.BigEndian.Uint16(b[123:]))
	if count != len(b)-offStart || count > 1+dmx.Slots {
		return fmt.Errorf("%w: have %d, need %d, at most %d", ErrCount, count, len(b)-offStart, 1+dmx.Slots)
	}
	universe := binary.BigEndian.Uint16(b[offUniverse:])
	if universe < MinUniverse || universe > MaxUniverse {
		return fmt.Errorf("%w: %d, need %d..%d", ErrUniverse, universe, MinUniverse, MaxUniverse)
	}
	p.CID = [16]byte(b[offCID:])
	p.SourceName = SourceName(b[offName:])
	p.Priority = b[offPriority]
	p.SyncAddress = binary.BigEndian.Uint16(b[offSyncAddr:])
	p.Sequence = b[offSequence]
	p.Options = Options(b[offOptions]) & (PreviewData | StreamTerminated | ForceSynchronization)
	p.Universe = universe
	p.StartCode = b[offStart]
	p.Slots = append(p.Slots[:0], b[offSlots:]...)
	return nil
}
