package sacn

import (
	"encoding/binary"
	"fmt"
)

// discoveryUniverse is the number of the multicast group for lists of universes
// (9.3.1, Appendix A).
const discoveryUniverse = 64214

// PageSize is the greatest number of universes in one discovery packet (8.5).
const PageSize = 512

// maxPages is the number of pages for all 63999 universes.
const maxPages = (MaxUniverse + PageSize - 1) / PageSize

// DiscoveryPacket is one page of the list of universes that a source sends
// (E1.31-2018 Table 4-3), after the layers in root.go:
//
//	offset size field
//	44     64   source name
//	108    4    reserved, 0
//	112    2    list layer: flags 0x7 and length
//	114    4    vector 0x00000001, universe list
//	118    1    page, from 0
//	119    1    last page
//	120    2n   universes, ascending, n = 0..512
type DiscoveryPacket struct {
	CID        [16]byte
	SourceName SourceName
	Page, Last uint8
	Universes  []uint16
}

const (
	offList      = 112
	offUniverses = 120
)

// AppendTo appends the packet. It leaves out universes beyond 512: they belong on
// the next page.
func (p *DiscoveryPacket) AppendTo(b []byte) []byte {
	list := p.Universes[:min(len(p.Universes), PageSize)]
	size := offUniverses + 2*len(list)
	b = appendHeader(b, size, rootExtended, p.CID, 2)
	b = append(b, p.SourceName[:]...)
	b = append(b, 0, 0, 0, 0)
	b = appendLength(b, size-offList)
	b = binary.BigEndian.AppendUint32(b, 1) // VECTOR_UNIVERSE_DISCOVERY_UNIVERSE_LIST
	b = append(b, p.Page, p.Last)
	for _, u := range list {
		b = binary.BigEndian.AppendUint16(b, u)
	}
	return b
}

// Parse reads a whole datagram. It copies into p and reuses p.Universes. On an error
// p does not change.
func (p *DiscoveryPacket) Parse(b []byte) error {
	if err := checkHeader(b, Discovery, offUniverses); err != nil {
		return err
	}
	if err := checkLength(b, offList); err != nil {
		return err
	}
	if v := binary.BigEndian.Uint32(b[114:]); v != 1 {
		return fmt.Errorf("%w: list %d, need 1", ErrVector, v)
	}
	if n := len(b) - offUniverses; n%2 != 0 || n > 2*PageSize {
		return fmt.Errorf("%w: list of %d octets, need an even number up to %d", ErrLength, n, 2*PageSize)
	}
	if b[118] > b[119] || b[119] >= maxPages {
		return fmt.Errorf("%w: page %d of 0..%d, at most %d", ErrPage, b[118], b[119], maxPages-1)
	}
	p.CID = [16]byte(b[offCID:])
	p.SourceName = SourceName(b[offName:])
	p.Page, p.Last = b[118], b[119]
	p.Universes = p.Universes[:0]
	for i := offUniverses; i < len(b); i += 2 {
		p.Universes = append(p.Universes, binary.BigEndian.Uint16(b[i:]))
	}
	return nil
}
