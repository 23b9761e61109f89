package panel

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"tactus/fixtures"
)

// Pan and tilt are told as shares of all the travel, whatever part of it the rig
// allows.
func TestAround(t *testing.T) {
	for _, c := range []struct {
		name    string
		allowed fixtures.Travel
		v       float64
		want    uint8
	}{
		{"middle", fixtures.Travel{}, 0, 128},
		{"one end", fixtures.Travel{}, -1, 1},
		{"the other", fixtures.Travel{}, 1, 255},
		{"past the end", fixtures.Travel{}, 7, 255},
		{"the other way round", fixtures.Travel{Invert: true}, 1, 1},
		{"a quarter allowed, its end", fixtures.Travel{From: 0.5, To: 0.75}, 1, 191},
		{"a quarter allowed, its beginning", fixtures.Travel{From: 0.5, To: 0.75}, -1, 128},
	} {
		assert.Equal(t, c.want, travelOctet(c.allowed, c.v), c.name)
	}
}
