package pcapng

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// The worked example of RFC 1071, 3: the sum of 00 01 f2 03 f4 f5 f6 f7 is ddf2.
func TestSumOfRFC1071(t *testing.T) {
	assert.EqualValues(t, 0xddf2, checksum(0, []byte{0x00, 0x01, 0xf2, 0x03, 0xf4, 0xf5, 0xf6, 0xf7}))
}
