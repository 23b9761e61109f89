package plot

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/fixtures"
)

// TestShapes: a symbol says what a fixture does.
func TestShapes(t *testing.T) {
	channel := func(p fixtures.Param) fixtures.Channel { return fixtures.Channel{Use: fixtures.Level, Param: p} }
	for want, params := range map[shape][]fixtures.Param{
		circle:   {fixtures.Red, fixtures.Green, fixtures.Blue},
		square:   {fixtures.Intensity},
		triangle: {fixtures.Intensity, fixtures.Red, fixtures.Green, fixtures.Pan, fixtures.Tilt},
		diamond:  {fixtures.Haze, fixtures.Fan},
	} {
		var channels []fixtures.Channel
		for _, p := range params {
			channels = append(channels, channel(p))
		}
		profile, err := fixtures.NewProfile("some", "a fixture", channels)
		require.NoError(t, err)
		assert.Equal(t, want, shapeOf(profile), "%v", params)
	}
}

// TestLetters: every type has a letter of its own.
func TestLetters(t *testing.T) {
	for n, want := range map[int]string{0: "A", 25: "Z", 26: "AA", 51: "AZ", 52: "BA"} {
		assert.Equal(t, want, letterOf(n))
	}
}
