package main

import (
	"bytes"
	"image/png"
	"io"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/cmd/tactus/showfiles"
)

// Every fixture type of the demo shows every colour of its palettes within 1
// ΔE00 of the same, as it goes out in 8 bits, and the sheet has them all.
func TestDemoTypesMatch(t *testing.T) {
	show, err := loadShow(showfiles.Demo, "", io.Discard)
	require.NoError(t, err)
	s := swatchesOf(show)
	require.GreaterOrEqual(t, len(s.kinds), 4)
	require.GreaterOrEqual(t, len(s.colour), 20)
	for _, c := range s.colour {
		for i := range s.kinds {
			_, _, d := s.kinds[i].match(c.rgb)
			assert.LessOrEqual(t, d, 1.0, "%s on %s is off by ΔE00", c.name, s.kinds[i].name)
		}
	}
	var b bytes.Buffer
	require.NoError(t, s.draw(&b))
	img, err := png.Decode(&b)
	require.NoError(t, err)
	r, g, bl, _ := img.At(swatchLeft(1)+swatchWide/2, sheetHead+swatchHigh+swatchGap+4).RGBA()
	assert.GreaterOrEqual(t, r>>8, uint32(250))
	assert.LessOrEqual(t, g>>8, uint32(8))
	assert.LessOrEqual(t, bl>>8, uint32(8))
}
