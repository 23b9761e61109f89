package swatches

import (
	"bytes"
	"image/png"
	"slices"
	"testing"

	"tactus/engine"
	"tactus/fixtures"
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

// A role that is bright has its own row. On each type it drives an emitter nearly to full
// in 8 bits, and its colour is within 1 ΔE00 of the one asked for at that brightness.
func TestBrightRoles(t *testing.T) {
	show := showtest.Demo(t)
	matched := New(show)
	song := &show.Program.Songs[0]
	song.Palette[engine.Main] = fixtures.RGB{0, 0, 1}
	song.Deep.Roles[engine.Main] = true
	s := New(show)
	require.Len(t, s.Colours, len(matched.Colours)) // blue, matched, has a row in both
	i := slices.IndexFunc(s.Colours, func(c Colour) bool { return c.Bright })
	require.GreaterOrEqual(t, i, 0)
	bright := s.Colours[i]
	assert.Equal(t, song.Name+" main", bright.Name)
	for k := range s.Kinds {
		kind := &s.Kinds[k]
		assert.Greater(t, kind.Gain(bright), 2.5, kind.Name)
		assert.Equal(t, 1.0, kind.Gain(Colour{RGB: bright.RGB}), kind.Name)
		_, levels, d := kind.Match(bright)
		assert.LessOrEqual(t, d, 1.0, kind.Name)
		assert.InDelta(t, 1, slices.Max(levels[:]), 0.001, kind.Name)
	}
	var b bytes.Buffer
	require.NoError(t, s.Print(&b))
	assert.Regexp(t, `main +#0000ff .*3\.\d times as bright as matched`, b.String())
}
