package panel

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"tactus/fixtures"
)

// A colour that is brighter than sRGB can say goes out as its largest size and how many
// times as bright it is; others are as ever, with 32 for once.
func TestBrightnessOctet(t *testing.T) {
	for _, c := range []struct {
		colour fixtures.RGB
		want   uint8
	}{
		{fixtures.RGB{}, 32},
		{fixtures.RGB{1, 1, 1}, 32},
		{fixtures.RGB{0.2, -0.1, 0.9}, 32},
		{fixtures.RGB{1 + 1e-12, 0, 0}, 32},
		{fixtures.RGB{0, 0, 2}, 64},
		{fixtures.RGB{0, 0.5, 3.43}, 110},
		{fixtures.RGB{0, 0, 100}, 255},
	} {
		got := brightnessOctet(c.colour)
		assert.Equal(t, c.want, got, "%v", c.colour)
		if top := max(c.colour[0], c.colour[1], c.colour[2]); top < 7 {
			assert.LessOrEqual(t, top*brightOne/float64(got), 1+1e-9, "%v", c.colour)
		}
	}
}

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
