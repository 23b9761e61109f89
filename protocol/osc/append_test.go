package osc_test

import (
	"encoding/binary"
	"strings"

	"tactus/protocol/osc"
)

// What the program never sends, but tests do.

func Blob(v []byte) osc.Arg      { return osc.Arg{Tag: 'b', Blob: v} }
func Nil() osc.Arg               { return osc.Arg{Tag: 'N'} }
func Impulse() osc.Arg           { return osc.Arg{Tag: 'I'} }
func Long(v int64) osc.Arg       { return osc.Arg{Tag: 'h', Bits: uint64(v)} }
func Time(v osc.TimeTag) osc.Arg { return osc.Arg{Tag: 't', Bits: uint64(v)} }

func Bool(v bool) osc.Arg {
	if v {
		return osc.Arg{Tag: 'T'}
	}
	return osc.Arg{Tag: 'F'}
}

// octets returns the octets of an element.
func octets(e osc.Element) []byte { return appendElement(nil, e) }

// appendElement adds the octets of an element to b: OSC 1.0, OSC Bundles.
func appendElement(b []byte, e osc.Element) []byte {
	switch {
	case e.Message != nil:
		return e.Message.AppendTo(b)
	case e.Bundle != nil:
		b = append(b, "#bundle\x00"...)
		b = binary.BigEndian.AppendUint64(b, uint64(e.Bundle.Time))
		for _, inner := range e.Bundle.Elements {
			at := len(b)
			b = appendElement(append(b, 0, 0, 0, 0), inner)
			binary.BigEndian.PutUint32(b[at:], uint32(len(b)-at-4))
		}
	}
	return b
}

// packet is an element that a sender sends.
type packet struct{ osc.Element }

func (p packet) AppendTo(b []byte) []byte { return appendElement(b, p.Element) }

// padded adds NULs to s up to a multiple of 4.
func padded(s string) string { return s + strings.Repeat("\x00", -len(s)&3) }
