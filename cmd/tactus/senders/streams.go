package senders

import (
	"encoding/binary"
	"fmt"

	"tactus/protocol/artnet"
	"tactus/protocol/sacn"
)

// Streams are the sequence numbers that a run's streams go on with after another run with
// the same CID. The zero value begins anew.
type Streams struct {
	sacn   map[uint16]uint8 // next number by universe; 0 is the sync packets'
	artnet map[uint16]uint8 // next number by Port-Address
}

// streamMargin is how many numbers are left out, for packets that a run sent after its
// numbers were kept: nearly one and a half seconds of them. Receivers take a number that
// is ahead by up to 127 for the next (E1.31-2018 6.7.2: they discard what is behind by less
// than 20), and count the ones between as lost.
const streamMargin = 64

// A stream as it is kept: the protocol, the universe as 16 bits with the low byte first,
// and the next number.
const (
	streamSize   = 4
	sacnStream   = 's'
	artNetStream = 'a'
)

// AppendStreams appends the sequence numbers of all streams as bytes. Only the goroutine
// that sends may call it, or anyone before and after. It allocates nothing if b has room.
func (w *Set) AppendStreams(b []byte) []byte {
	if w.sacn != nil {
		w.sacn.Sequences(func(universe uint16, next uint8) { b = appendStream(b, sacnStream, universe, next) })
	}
	if w.artnet != nil {
		w.artnet.Sequences(func(portAddress uint16, next uint8) { b = appendStream(b, artNetStream, portAddress, next) })
	}
	return b
}

func appendStream(b []byte, protocol byte, universe uint16, next uint8) []byte {
	return append(binary.LittleEndian.AppendUint16(append(b, protocol), universe), next)
}

// ParseStreams reads what AppendStreams has written. It returns an error if there is
// anything else.
func ParseStreams(b []byte) (Streams, error) {
	s := Streams{map[uint16]uint8{}, map[uint16]uint8{}}
	if len(b)%streamSize != 0 {
		return Streams{}, fmt.Errorf("sequence numbers: %d bytes, want a multiple of %d", len(b), streamSize)
	}
	for ; len(b) > 0; b = b[streamSize:] {
		universe := binary.LittleEndian.Uint16(b[1:])
		switch b[0] {
		case sacnStream:
			s.sacn[universe] = b[3]
		case artNetStream:
			s.artnet[universe] = b[3]
		default:
			return Streams{}, fmt.Errorf("sequence numbers: protocol %q, want %q or %q", b[0], sacnStream, artNetStream)
		}
	}
	return s, nil
}

// continueSACN has the streams of a configuration go on.
func (s *Streams) continueSACN(c *sacn.SenderConfig) {
	first := func(universe uint16) uint8 {
		if next, ok := s.sacn[universe]; ok {
			return next + streamMargin
		}
		return 0
	}
	for i := range c.Universes {
		c.Universes[i].Sequence = first(c.Universes[i].Number)
	}
	c.SyncSequence = first(0)
}

// continueArtNet does the same; numbers go from 1 to 255.
func (s *Streams) continueArtNet(c *artnet.SenderConfig) {
	for i := range c.Universes {
		if next, ok := s.artnet[c.Universes[i].PortAddress]; ok {
			c.Universes[i].Sequence = uint8((int(next)+254+streamMargin)%255 + 1)
		}
	}
}
