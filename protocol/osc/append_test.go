package osc

import (
	"encoding/binary"
)

// What the program never sends, but tests do.

func Blob(v []byte) Arg  { return Arg{Tag: 'b', Blob: v} }
func Nil() Arg           { return Arg{Tag: 'N'} }
func Impulse() Arg       { return Arg{Tag: 'I'} }
func Long(v int64) Arg   { return Arg{Tag: 'h', Bits: uint64(v)} }
func Time(v TimeTag) Arg { return Arg{Tag: 't', Bits: uint64(v)} }

func Bool(v bool) Arg {
	if v {
		return Arg{Tag: 'T'}
	}
	return Arg{Tag: 'F'}
}

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
