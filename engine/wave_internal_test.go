package engine

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// Published outputs of SplitMix64 from seed 1234567 (Vigna's splitmix64.c as
// quoted by several libraries' tests; from memory).
func TestMixBitsIsSplitMix(t *testing.T) {
	want := []uint64{6457827717110365317, 3203168211198807973, 9817491932198370423}
	state := uint64(1234567)
	for i, w := range want {
		assert.Equal(t, w, mixBits(state), "output %d", i)
		state += 0x9e3779b97f4a7c15
	}
}
