package sacn

// Accept reports whether a packet numbered next may follow the last accepted
// one (6.7.2): with the difference taken in 8 bits, signed, it is discarded
// when -20 < next-last <= 0. Data and sync packets are counted apart, each per
// source and universe.
func Accept(last, next uint8) bool {
	d := int8(next - last)
	return d <= -20 || d > 0
}
