package clock

import (
	"encoding/binary"
	"errors"
	"fmt"
	"math"
)

// ErrCheckpoint is wrapped by all errors of bytes that are no checkpoint, or not one of
// this program and show.
var ErrCheckpoint = errors.New("not a usable checkpoint")

// Coder writes the fields of structs as bytes, or reads them back. A struct lists its
// fields once, in one function, for both directions:
//
//	func (p *plan) code(c *Coder) {
//		CodeInts(c, &p.tempo, &p.next)
//		CodeInts(c, &p.at)
//	}
//
// Numbers are little-endian. Integers and floats have 8 bytes, bools 1; the form is the
// same on every processor. Reading stops at the first error, and leaves fields of what
// follows at zero. The package clock has it because it is the lowest that needs it;
// engine and engine/flash use it too.
type Coder struct {
	b       []byte // writing: all that is written; reading: what is left
	reading bool
	err     error
}

// maxNumber is the largest float, to both sides, that is read. Real states stay far below.
const maxNumber = 1e60

// CoderTo returns a Coder that appends to b.
func CoderTo(b []byte) Coder { return Coder{b: b} }

// CoderFrom returns a Coder that reads from b.
func CoderFrom(b []byte) Coder { return Coder{b: b, reading: true} }

// Reading reports whether fields are read, not written.
func (c *Coder) Reading() bool { return c.reading }

// Bytes returns all that is written, or what has not been read yet.
func (c *Coder) Bytes() []byte { return c.b }

// Err returns the first error, which wraps ErrCheckpoint; nil if there was none.
func (c *Coder) Err() error { return c.err }

// Failf sets the error, unless there is one already. Nothing is read after it.
func (c *Coder) Failf(format string, args ...any) {
	if c.err == nil {
		c.err = fmt.Errorf("%w: %s", ErrCheckpoint, fmt.Sprintf(format, args...))
	}
}

// take returns the next n bytes, or nil if there are fewer.
func (c *Coder) take(n int) []byte {
	if c.err != nil {
		return nil
	}
	if len(c.b) < n {
		c.Failf("cut off: have %d bytes, need %d", len(c.b), n)
		return nil
	}
	b := c.b[:n]
	c.b = c.b[n:]
	return b
}

type integer interface {
	~int | ~int8 | ~int16 | ~int32 | ~int64 | ~uint8 | ~uint16 | ~uint32 | ~uint64
}

// CodeInts codes integers, 8 bytes each. A number that does not fit its field is an
// error.
func CodeInts[T integer](c *Coder, fields ...*T) {
	for _, v := range fields {
		codeInt(c, v)
	}
}

func codeInt[T integer](c *Coder, v *T) {
	if !c.reading {
		c.b = binary.LittleEndian.AppendUint64(c.b, uint64(*v))
		return
	}
	b := c.take(8)
	if b == nil {
		return
	}
	n := binary.LittleEndian.Uint64(b)
	if *v = T(n); uint64(*v) != n {
		c.Failf("%d does not fit its field", int64(n))
		*v = 0
	}
}

// CodeIndex codes an integer that must be least..most. what names it in errors.
func CodeIndex[T integer](c *Coder, v *T, least, most int, what string) {
	codeInt(c, v)
	if c.reading && c.err == nil && (int64(*v) < int64(least) || int64(*v) > int64(most)) {
		c.Failf("%s is %d, must be %d to %d", what, int64(*v), least, most)
	}
}

// Floats codes numbers, 8 bytes each. Infinities and NaN are errors.
func (c *Coder) Floats(fields ...*float64) {
	for _, v := range fields {
		c.float(v)
	}
}

func (c *Coder) float(v *float64) {
	if !c.reading {
		c.b = binary.LittleEndian.AppendUint64(c.b, math.Float64bits(*v))
		return
	}
	if b := c.take(8); b != nil {
		*v = math.Float64frombits(binary.LittleEndian.Uint64(b))
		c.checkNumber(*v)
	}
}

func (c *Coder) checkNumber(v float64) {
	if !(v >= -maxNumber && v <= maxNumber) {
		c.Failf("a number is %v, must be %g to %g", v, -maxNumber, maxNumber)
	}
}

// FloatBetween codes a number that must be least..most. what names it in errors.
func (c *Coder) FloatBetween(v *float64, least, most float64, what string) {
	c.float(v)
	if c.reading && c.err == nil && !(*v >= least && *v <= most) {
		c.Failf("%s is %v, must be %v to %v", what, *v, least, most)
	}
}

// FloatList codes the numbers of a list, without its length.
func (c *Coder) FloatList(list []float64) {
	if !c.reading {
		for _, v := range list {
			c.b = binary.LittleEndian.AppendUint64(c.b, math.Float64bits(v))
		}
		return
	}
	b := c.take(8 * len(list))
	if b == nil {
		return
	}
	for i := range list {
		list[i] = math.Float64frombits(binary.LittleEndian.Uint64(b[8*i:]))
		c.checkNumber(list[i])
	}
}

// SparseList codes at most 16 numbers without its length: 2 bytes that mark those that
// are not 0, then those.
func (c *Coder) SparseList(list []float64) {
	if !c.reading {
		at, mask := len(c.b), uint16(0)
		c.b = append(c.b, 0, 0)
		for i, v := range list {
			if bits := math.Float64bits(v); bits != 0 {
				mask |= 1 << i
				c.b = binary.LittleEndian.AppendUint64(c.b, bits)
			}
		}
		binary.LittleEndian.PutUint16(c.b[at:], mask)
		return
	}
	b := c.take(2)
	if b == nil {
		return
	}
	mask := binary.LittleEndian.Uint16(b)
	if mask>>len(list) != 0 {
		c.Failf("marks %#x for %d numbers", mask, len(list))
	}
	for i := range list {
		list[i] = 0
		if mask&(1<<i) != 0 {
			c.float(&list[i])
		}
	}
}

// Times codes a list of times, without its length.
func (c *Coder) Times(list []Time) {
	for i := range list {
		codeInt(c, &list[i])
	}
}

// Bools codes truth values, a byte each.
func (c *Coder) Bools(fields ...*bool) {
	for _, v := range fields {
		if !c.reading {
			bit := byte(0)
			if *v {
				bit = 1
			}
			c.b = append(c.b, bit)
			continue
		}
		if b := c.take(1); b != nil {
			if *v = b[0] == 1; b[0] > 1 {
				c.Failf("a truth value is %d, must be 0 or 1", b[0])
			}
		}
	}
}

// ByteList codes bytes, without their number.
func (c *Coder) ByteList(list []byte) {
	if !c.reading {
		c.b = append(c.b, list...)
		return
	}
	copy(list, c.take(len(list)))
}

// maxText is the longest text, in bytes. A longer one is cut when it is written.
const maxText = 4096

// Text codes a text of at most 4,096 bytes with its length; a longer one is cut.
// Reading allocates.
func (c *Coder) Text(s *string) {
	n := min(len(*s), maxText)
	CodeIndex(c, &n, 0, maxText, "the length of a text")
	if !c.reading {
		c.b = append(c.b, (*s)[:n]...)
		return
	}
	*s = string(c.take(n))
}
