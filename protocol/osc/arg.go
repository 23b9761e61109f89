package osc

import "math"

// Arg is one argument. Tag says which field holds the value:
//
//	i int32    Bits  big-endian, 4 octets       h int64    Bits  8 octets
//	f float32  Bits  IEEE 754, 4 octets         d float64  Bits  8 octets
//	s string   Text  to the first NUL, padded   t time tag Bits  8 octets
//	b blob     Blob  int32 size, data, padded   T F N I    no octets
//
// OSC 1.0, OSC Type Tag String. Other tags are refused: their length is not
// known, so that what follows could not be read.
type Arg struct {
	Tag  byte
	Bits uint64
	Text string
	Blob []byte
}

// Int is an int32 argument.
func Int(v int32) Arg { return Arg{Tag: 'i', Bits: uint64(uint32(v))} }

// Float is a float32 argument.
func Float(v float32) Arg { return Arg{Tag: 'f', Bits: uint64(math.Float32bits(v))} }

// Text is a string argument; it ends before its first NUL, if it has one.
func Text(v string) Arg { return Arg{Tag: 's', Text: v} }

// Double is a float64 argument.
func Double(v float64) Arg { return Arg{Tag: 'd', Bits: math.Float64bits(v)} }

// Number returns the value of i, h, f or d; false for any other tag.
func (a *Arg) Number() (float64, bool) {
	switch a.Tag {
	case 'i':
		return float64(int32(a.Bits)), true
	case 'h':
		return float64(int64(a.Bits)), true
	case 'f':
		return float64(math.Float32frombits(uint32(a.Bits))), true
	case 'd':
		return math.Float64frombits(a.Bits), true
	}
	return 0, false
}

// size returns how many octets of its own a tag has before any string or blob;
// -1 for a tag that is not known.
func size(tag byte) int {
	switch tag {
	case 'i', 'f', 'b':
		return 4
	case 'h', 'd', 't':
		return 8
	case 's', 'T', 'F', 'N', 'I':
		return 0
	}
	return -1
}
