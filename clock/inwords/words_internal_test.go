package inwords

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"tactus/clock"
)

// Times are never told smaller than they are, and short.
func TestMilliseconds(t *testing.T) {
	const ms = clock.Millisecond
	for want, c := range map[string]clock.Time{
		"0.1 ms": 0, "0.4 ms": 400_000, "0.5 ms": 400_001, "3 ms": 3 * ms, "9.9 ms": 9_900_000, "10 ms": 9_900_001, "21 ms": 20_800_000,
	} {
		assert.Equal(t, want, string(appendMS(nil, c)))
	}
	// 256, 512 and 1024 frames of audio at 48 kHz, and at the edges.
	for want, c := range map[string]clock.Time{
		"5.3 ms": 5_333_333, "11 ms": 10_666_667, "21 ms": 21_333_333, "10 ms": 9_999_999, "9.9 ms": 9_949_999, "22 ms": 21_500_000,
	} {
		assert.Equal(t, want, string(appendNear(nil, c)))
	}
}
