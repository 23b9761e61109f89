package paper

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The switches are worth 1, 2, 4 ... 256 (common practice, no source). Worked
// by hand: 1 = 1; 10 = 2+8; 101 = 1+4+32+64; 255 = 1+...+128; 256; 330 =
// 2+8+64+256; 511 = all.
func TestSwitches(t *testing.T) {
	for address, want := range map[int]string{
		1: "1--------", 2: "-2-------", 3: "12-------", 10: "-2-4-----", 101: "1-3--67--", 255: "12345678-",
		256: "--------9", 330: "-2-4--7-9", 511: "123456789", 512: "not with 9", 0: "not with 9",
	} {
		assert.Equal(t, want, dipSwitches(address), address)
	}
	for a := 1; a <= 511; a++ { // they add up again
		on, ok := Switches(a)
		sum := 0
		for i, worth := range []int{1, 2, 4, 8, 16, 32, 64, 128, 256} {
			if on[i] {
				sum += worth
			}
		}
		require.True(t, ok, "%d: the switches add up", a)
		require.Equal(t, a, sum, "%d: the switches add up", a)
	}
}
