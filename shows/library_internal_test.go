package shows

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/fixtures"
	"tactus/protocol/dmx"
)

// Every built-in profile with a shutter is open in the dark and lit, whatever
// else the head does; and a profile with a strobe is known to have one.
func TestBuiltInShuttersAreHeldOpen(t *testing.T) {
	c := &compiler{loader: new(Loader)}
	shutters := 0
	for name, p := range c.compileProfiles(nil) {
		patch, err := fixtures.NewPatch(1, []fixtures.Placement{{Name: "a", Profile: p, Address: 1}})
		require.NoError(t, err, name)
		for i, ch := range p.Channels {
			if ch.Use != fixtures.Shutter {
				continue
			}
			shutters++
			for _, level := range []float64{0, 0.5, 1} {
				src := make([]fixtures.State, patch.Heads())
				src[0] = fixtures.State{fixtures.Intensity: level, fixtures.Red: level, fixtures.Pan: level}
				dst := make([]dmx.Universe, 1)
				patch.Encode(dst, src)
				assert.Equal(t, ch.Value, dst[0].Slots[i], "%s at %v: its shutter", name, level)
			}
			assert.Equal(t, ch.Strobe.SlowHz > 0, p.Has(fixtures.Strobe), "%s: a strobe", name)
		}
	}
	assert.GreaterOrEqual(t, shutters, 4)
}
