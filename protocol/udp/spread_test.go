package udp

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// Worked by hand from the two bounds.
func TestSlices(t *testing.T) {
	for _, c := range []struct {
		spread        Spread
		packets, most int
		want          int
	}{
		{32, 0, 0, 1},
		{32, 1, 1, 1},
		{32, 32, 32, 1},    // small: at once
		{32, 33, 1, 2},     // by the bound of all
		{32, 64, 1, 2},     //
		{32, 64, 64, 8},    // 8 a millisecond to one address
		{32, 400, 4, 11},   // 13, cut
		{32, 1024, 1, 11},  //
		{32, 4096, 64, 11}, //
		{200, 1024, 4, 6},
		{1, 5, 1, 5},
		{0, 4096, 4096, 1}, // off
	} {
		assert.Equal(t, c.want, c.spread.Slices(c.packets, c.most), "%+v", c)
	}
}

// Whatever nodes there are, a slice holds at most two more packets to one of them than its
// even share, all packets leave, and those to a node stay in order.
func TestInterleaveIsEven(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var to []int
		nodes := rapid.IntRange(1, 200).Draw(t, "nodes")
		most := rapid.SampledFrom([]int{1, 4, 16, 64}).Draw(t, "most")
		counts := make([]int, nodes)
		for a := range nodes {
			counts[a] = rapid.IntRange(1, most).Draw(t, "packets")
			for range counts[a] {
				to = append(to, a)
			}
		}
		if rapid.Bool().Draw(t, "shuffled") {
			to = rapid.Permutation(to).Draw(t, "order")
		}
		order := Interleave(to)
		sorted := slices.Clone(order)
		slices.Sort(sorted)
		last := map[int]int{}
		for n, i := range order {
			require.Equal(t, n, sorted[n], "every packet once")
			if before, ok := last[to[i]]; ok {
				require.Less(t, before, i, "packets to node %d", to[i])
			}
			last[to[i]] = i
		}
		n := DefaultSpread.Slices(len(to), slices.Max(counts))
		size := slicesOf(len(to), n)
		for begin := 0; begin < len(order); begin += size {
			got := make([]int, nodes)
			for _, i := range order[begin:min(begin+size, len(order))] {
				got[to[i]]++
			}
			for a := range got {
				require.LessOrEqual(t, got[a], slicesOf(counts[a], n)+2, "of %d packets to node %d in one of %d slices", counts[a], a, n)
			}
		}
	})
}

func TestInterleaveKeepsAnOrderWithoutRepeats(t *testing.T) {
	assert.Equal(t, []int{0, 1, 2, 3, 4}, Interleave([]int{0, 1, 2, 3, 4}))
	assert.Equal(t, []int{0, 2, 1, 3}, Interleave([]int{0, 0, 1, 1}), "two nodes take turns")
	assert.Empty(t, Interleave(nil))
}
