package laptop

import (
	"bytes"
	"image/png"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/clock"
)

// The picture has the blue of a bar where its wakes lie, and ink of words above.
func TestPictureAsPNG(t *testing.T) {
	p := NewProbe()
	p.FrameWoke(0, 1100*clock.Microsecond)
	r := Judge(Measured{
		Seconds: 30, Rate: 44, Timer: "a timer", Frames: 1320,
		Late: Spread{0.05, 0.2, 1}, Work: Spread{0.1, 0.3, 1},
	}, Facts{})
	src, err := p.Picture(&r, true)
	require.NoError(t, err)
	img, err := png.Decode(bytes.NewReader(src))
	require.NoError(t, err)
	cr, cg, cb, _ := img.At(int(xOf(1.1))+4, plotBottom-5).RGBA()
	assert.EqualValues(t, 0x22, cr>>8)
	assert.EqualValues(t, 0x66, cg>>8)
	assert.EqualValues(t, 0xaa, cb>>8)
	dark := 0
	for x := plotLeft; x < plotRight; x++ {
		if cr, _, _, _ := img.At(x, 27).RGBA(); cr>>8 < 0x80 {
			dark++
		}
	}
	assert.GreaterOrEqual(t, dark, 30, "dark pixels in the line of the title")
}
