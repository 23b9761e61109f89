package udp

import (
	"slices"
	"time"
)

// Spread is how many packets of a frame may leave in a millisecond; 0 is no bound. A
// frame with more leaves in slices, SliceEvery apart, because small switches and nodes
// drop packets from a burst that their buffers do not hold. A 100 Mbit/s port passes 17
// full packets of sACN a millisecond (704 octets with all headers and the gap of
// IEEE 802.3).
//
// A quarter of it is the bound for one address. A frame that is too large for both
// bounds leaves in MaxSlices equal slices.
type Spread int

const (
	// DefaultSpread lets shows of up to 32 universes leave at once.
	DefaultSpread Spread = 32
	// MaxSpread is the largest bound.
	MaxSpread = 1000
	// SliceEvery is the time from slice to slice.
	SliceEvery = time.Millisecond
	// MaxSlices ends a frame within 10 ms: less than half of the shortest period between
	// frames, 22.7 ms at 44 a second.
	MaxSlices = 11
)

// Slices returns in how many slices, 1..MaxSlices, a frame leaves that has some packets,
// most of them to the address that gets the most.
func (s Spread) Slices(packets, most int) int {
	if s <= 0 || packets <= int(s) {
		return 1
	}
	toOne := max(1, int(s)/4)
	return min(MaxSlices, max(slicesOf(packets, int(s)), slicesOf(most, toOne)))
}

// slicesOf returns how many slices of a size hold some packets.
func slicesOf(packets, size int) int { return (packets + size - 1) / size }

// Interleave returns the order in which to send packets, as indexes into to, so that the
// packets to each address lie evenly apart and stay in order. to holds the address of each
// packet, as a number from 0 on. If no address repeats, the order stays.
func Interleave(to []int) []int {
	addresses := 0
	for _, a := range to {
		addresses = max(addresses, a+1)
	}
	counts, turns := make([]int, addresses), make([]int, addresses)
	for _, a := range to {
		counts[a]++
	}
	order, place := make([]int, len(to)), make([]float64, len(to)) // place: 0..1 of the frame
	for i, a := range to {
		order[i] = i
		place[i] = (float64(turns[a]) + (float64(a)+0.5)/float64(addresses)) / float64(counts[a])
		turns[a]++
	}
	slices.SortStableFunc(order, func(i, j int) int {
		switch {
		case place[i] < place[j]:
			return -1
		case place[i] > place[j]:
			return 1
		}
		return 0
	})
	return order
}
