package sacn

import (
	"encoding/binary"
	"fmt"
)

// SyncPacket tells receivers to output the data that they hold for its address
// (E1.31-2018 Table 4-2), after the layers in root.go:
//
//	offset size field
//	44     1    sequence number
//	45     2    synchronization address, 1..63999
//	47     2    reserved, 0
type SyncPacket struct {
	CID      [16]byte
	Sequence uint8
	Address  uint16
}

const (
	syncLen         = 49
	offSyncSequence = 44
	offSyncUniverse = 45
)

// AppendTo appends the packet.
func (p *SyncPacket) AppendTo(b []byte) []byte {
	b = appendHeader(b, syncLen, rootExtended, p.CID, 1)
	b = append(b, p.Sequence)
	b = binary.BigEndian.AppendUint16(b, p.Address)
	return append(b, 0, 0)
}

// Parse reads a whole datagram. Address 0 is an error: it is never sent and
// receivers ignore it (6.3.3.1). On an error p does not change.
func (p *SyncPacket) Parse(b []byte) error {
	if err := checkHeader(b, Sync, syncLen); err != nil {
		return err
	}
	if len(b) != syncLen {
		return fmt.Errorf("%w: have %d octets, need %d", ErrLength, len(b), syncLen)
	}
	address := binary.BigEndian.Uint16(b[offSyncUniverse:])
	if address < MinUniverse || address > MaxUniverse {
		return fmt.Errorf("%w: %d, need %d..%d", ErrUniverse, address, MinUniverse, MaxUniverse)
	}
	p.CID = [16]byte(b[offCID:])
	p.Sequence = b[offSyncSequence]
	p.Address = address
	return nil
}
