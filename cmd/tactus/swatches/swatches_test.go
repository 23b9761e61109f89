package swatches

import (
	"bytes"
	"image/png"
	"testing"

	"tactus/shows/showtest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Every fixture type of the demo shows every colour of its palettes within 1
// ΔE00 of the same, as it goes out in 8 bits, and the sheet has them all.
func TestDemoTypesMatch(t *testing.T) {
	show := showtest.Demo(t)
	s := New(show)
	require.GreaterOrEqual(t, len(s.Kinds), 4)
	require.GreaterOrEqual(t, len(s.Colours), 20)
	for _, c := range s.Colours {
		for i := range s.Kinds {
			_, _, d := s.Kinds[i].Match(c)
			assert.LessOrEqual(t, d, 1.0, "%s on %s is off by ΔE00", c.Name, s.Kinds[i].Name)
		}
	}
	var b bytes.Buffer
	require.NoError(t, s.WritePNG(&b))
	img, err := png.Decode(&b)
	require.NoError(t, err)
	r, g, bl, _ := img.At(swatchLeft(1)+swatchWide/2, sheetHead+swatchHigh+swatchGap+4).RGBA()
	assert.GreaterOrEqual(t, r>>8, uint32(250))
	assert.LessOrEqual(t, g>>8, uint32(8))
	assert.LessOrEqual(t, bl>>8, uint32(8))
}
