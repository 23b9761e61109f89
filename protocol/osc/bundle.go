package osc

import (
	"encoding/binary"
	"fmt"
)

// TimeTag is NTP time: seconds since 1900-01-01 UTC in the upper 32 bits, and
// 1/2³² of a second in the lower; 1 means at once (OSC 1.0, Temporal Semantics
// and OSC Time Tags).
type TimeTag uint64

// Bundle is messages and bundles that belong together at a time:
//
//	0   8  "#bundle" NUL
//	8   8  time tag
//	16  n  elements: int32 size, a multiple of 4; then a message or bundle
//
// OSC 1.0, OSC Bundles.
type Bundle struct {
	Time     TimeTag
	Elements []Element
}

// Element is a message or a bundle; the other is nil. It is also what a packet
// holds.
type Element struct {
	Message *Message
	Bundle  *Bundle
}

const bundleMark = "#bundle\x00"

// parse reads the bundle that fills b. depth is 1 for one that is in no other.
func (p *Bundle) parse(b []byte, depth int) error {
	p.Elements = nil
	switch {
	case depth > MaxDepth:
		return fmt.Errorf("%w: at most %d", ErrDepth, MaxDepth)
	case len(b) > MaxPacket:
		return fmt.Errorf("%w: have %d octets, at most %d", ErrLong, len(b), MaxPacket)
	case len(b) < 16:
		return fmt.Errorf("%w: bundle, have %d, need 16", ErrShort, len(b))
	case string(b[:8]) != bundleMark:
		return fmt.Errorf("%w: no %q", ErrAddress, bundleMark)
	}
	p.Time = TimeTag(binary.BigEndian.Uint64(b[8:]))
	for b = b[16:]; len(b) > 0; {
		if len(b) < 4 {
			return fmt.Errorf("%w: size of an element, have %d, need 4", ErrShort, len(b))
		}
		n := uint64(binary.BigEndian.Uint32(b))
		if n > uint64(len(b)-4) {
			return fmt.Errorf("%w: element, have %d, need %d", ErrShort, len(b)-4, n)
		}
		e, err := parse(b[4:4+n], depth+1)
		if err != nil {
			return err
		}
		// Atomicity of nested bundles: the inner is not due before the outer.
		if e.Bundle != nil && e.Bundle.Time < p.Time {
			return fmt.Errorf("%w: %016X before %016X", ErrTime, uint64(e.Bundle.Time), uint64(p.Time))
		}
		p.Elements = append(p.Elements, e)
		b = b[4+n:]
	}
	return nil
}

// Parse reads a packet (OSC 1.0, OSC Packets).
func Parse(b []byte) (Element, error) { return parse(b, 1) }

func parse(b []byte, depth int) (e Element, err error) {
	switch {
	case len(b) == 0:
		return e, fmt.Errorf("%w: no octets", ErrShort)
	case len(b)%4 != 0:
		return e, fmt.Errorf("%w: have %d", ErrAlign, len(b))
	case b[0] == '#':
		e.Bundle = &Bundle{}
		err = e.Bundle.parse(b, depth)
	default:
		e.Message = &Message{}
		err = e.Message.Parse(b)
	}
	if err != nil {
		return Element{}, err
	}
	return e, nil
}

// Each calls handle for every message, in the order of the packet.
func (e Element) Each(handle func(m *Message)) {
	if e.Message != nil {
		handle(e.Message)
	}
	if e.Bundle != nil {
		for _, inner := range e.Bundle.Elements {
			inner.Each(handle)
		}
	}
}
