package osc

import (
	"encoding/binary"
	"fmt"
)

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

// AppendTo adds the octets of the element to b.
func (e Element) AppendTo(b []byte) []byte {
	switch {
	case e.Message != nil:
		return e.Message.AppendTo(b)
	case e.Bundle != nil:
		return e.Bundle.AppendTo(b)
	}
	return b
}

// AppendTo adds the octets of the bundle to b.
func (p *Bundle) AppendTo(b []byte) []byte {
	b = append(b, bundleMark...)
	b = binary.BigEndian.AppendUint64(b, uint64(p.Time))
	for _, e := range p.Elements {
		at := len(b)
		b = e.AppendTo(append(b, 0, 0, 0, 0))
		binary.BigEndian.PutUint32(b[at:], uint32(len(b)-at-4))
	}
	return b
}

// Parse reads the bundle that fills b.
func (p *Bundle) Parse(b []byte) error { return p.parse(b, 1) }

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

// Each calls use for every message in order, with the time of the bundle that
// holds it; Immediately for one on its own.
func (e Element) Each(use func(m *Message, at TimeTag)) { e.each(use, Immediately) }

func (e Element) each(use func(*Message, TimeTag), at TimeTag) {
	if e.Message != nil {
		use(e.Message, at)
	}
	if e.Bundle != nil {
		for _, inner := range e.Bundle.Elements {
			inner.each(use, e.Bundle.Time)
		}
	}
}
