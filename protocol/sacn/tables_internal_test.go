package sacn

import (
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func number(t *testing.T, s string) int {
	t.Helper()
	n, err := strconv.Atoi(s)
	require.NoError(t, err)
	return n
}

// E1.31-2018, 6.7.2.
func TestSequenceTable(t *testing.T) {
	for _, row := range ReferenceTable(t, "sacn-sequence.csv") {
		last, next := uint8(number(t, row[0])), uint8(number(t, row[1]))
		assert.Equal(t, row[3] == "accept", accept(last, next), "accept(%d, %d)", last, next)
	}
}

// 20 of 256 followers of each number are discarded: computed from the rule.
func TestSequenceCount(t *testing.T) {
	discarded := 0
	for last := range 256 {
		for next := range 256 {
			if !accept(uint8(last), uint8(next)) {
				discarded++
			}
		}
	}
	assert.Equal(t, 5120, discarded, "65536 pairs discarded")
}
