package laptop

import (
	"bytes"
	"image/png"
	"testing"

	"tactus/clock"
)

// The picture has the blue of a bar where its wakes lie, and ink of words above.
func TestWritePNG(t *testing.T) {
	p := NewProbe()
	p.Woke(0, 1100*clock.Microsecond)
	r := Judge(good(), Facts{})
	var b bytes.Buffer
	if err := p.WritePNG(&b, &r, 22.7); err != nil {
		t.Fatal(err)
	}
	img, err := png.Decode(&b)
	if err != nil {
		t.Fatal(err)
	}
	if cr, cg, cb, _ := img.At(int(across(1.1))+4, plotBottom-5).RGBA(); cr>>8 != 0x22 || cg>>8 != 0x66 || cb>>8 != 0xaa {
		t.Errorf("colour %x %x %x in the bar at 1.1 ms", cr>>8, cg>>8, cb>>8)
	}
	dark := 0
	for x := plotLeft; x < plotRight; x++ {
		if cr, _, _, _ := img.At(x, 27).RGBA(); cr>>8 < 0x80 {
			dark++
		}
	}
	if dark < 30 {
		t.Errorf("%d dark pixels in the line of the title", dark)
	}
}
