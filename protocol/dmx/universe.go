package dmx

// Slots is the number of slots in a full universe (E1.11).
const Slots = 512

// MaxRate is the ceiling of full-length frames a second. The shortest full
// packet (92 µs break, 12 µs mark, 513 slots of 44 µs) would allow 44.099.
const MaxRate = 44

// Universe is one universe's levels. Slot n of the standard is Slots[n-1].
type Universe struct {
	Slots [Slots]byte
}
