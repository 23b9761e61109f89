package realtime

import "math/bits"

// timebase is the length of a tick of a system's counter: num/den nanoseconds.
// On macOS it is 125/3 on one kind of processor and 1/1 on the other.
type timebase struct{ num, den uint32 }

// valid reports whether both parts are above zero.
func (b timebase) valid() bool { return b.num > 0 && b.den > 0 }

// ticks converts nanoseconds to ticks. It rounds up, so that no wait ends early, and
// calculates with 128 bits, so that nothing overflows.
func (b timebase) ticks(nanoseconds int64) uint64 {
	if nanoseconds <= 0 {
		return 0
	}
	high, low := bits.Mul64(uint64(nanoseconds), uint64(b.den))
	low, carry := bits.Add64(low, uint64(b.num)-1, 0)
	high += carry
	if high >= uint64(b.num) {
		return 1<<64 - 1
	}
	q, _ := bits.Div64(high, low, uint64(b.num))
	return q
}

// nanoseconds converts ticks, rounded down.
func (b timebase) nanoseconds(ticks uint64) int64 {
	high, low := bits.Mul64(ticks, uint64(b.num))
	if high >= uint64(b.den) {
		return 1<<63 - 1
	}
	q, _ := bits.Div64(high, low, uint64(b.den))
	return int64(min(q, 1<<63-1))
}

// hundreds converts nanoseconds to Windows' unit of 100 ns, rounded up and negative:
// for Windows a negative time is relative to now.
func hundreds(nanoseconds int64) int64 { return -((max(nanoseconds, 1) + 99) / 100) }
