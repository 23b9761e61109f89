package swatches

import (
	"testing"

	"tactus/fixtures"
	"tactus/shows/showtest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Corners of the hexcone are the colours that CSS names (CSS Color Module Level 4, 6.1).
func TestHSVHasTheNamedColours(t *testing.T) {
	for name, at := range map[string][2]float64{
		"red": {0, 1}, "yellow": {1. / 6, 1}, "lime": {1. / 3, 1}, "cyan": {0.5, 1}, "blue": {2. / 3, 1}, "magenta": {5. / 6, 1}, "white": {0.3, 0},
	} {
		want, ok := fixtures.ColourByName(name)
		require.True(t, ok)
		assert.Equal(t, want.Hex(), hsv(at[0], at[1]).Hex(), name)
	}
	want, _ := fixtures.ColourByName("hotpink") // #ff69b4: 330 degrees, 59 %
	got := hsv(330./360, 1-0x69/255.)
	assert.Equal(t, want.Hex(), got.Hex())
}

// A type with red, green and blue shows every hue; one with a warm and a cool white shows
// whites near the line between them, and no blue.
func TestReach(t *testing.T) {
	kinds := Kinds(showtest.Demo(t).Program)
	require.Len(t, kinds, 4)
	assert.Equal(t, "dimmer-rgbw", kinds[0].Name)
	assert.Equal(t, []int32{0, 1, 2, 3}, kinds[0].Heads)
	for _, k := range kinds {
		r := k.Reach()
		for h := range r {
			for s := range r[h] {
				assert.Less(t, r[h][s], 2.0, "%s: hue %d, saturation %d", k.Name, h, s)
			}
		}
	}
	m, err := fixtures.NewMixer([]fixtures.Emitter{fixtures.Typical(fixtures.Warm), fixtures.Typical(fixtures.Cool)}, fixtures.WhiteOf(5600, 0), false)
	require.NoError(t, err)
	k := Kind{Name: "two whites", mixer: m}
	r := k.Reach()
	assert.Less(t, r[0][0], 5.0, "white")
	assert.Greater(t, r[ReachHues*2/3][ReachSaturations-1], 20.0, "blue")
	assert.Equal(t, "another colour: it cannot reach this one", DifferenceWords(r[ReachHues*2/3][ReachSaturations-1]))
	assert.Equal(t, "as asked", DifferenceWords(0.4))
}
