package main

import (
	"bytes"
	"image/png"
	"io"
	"testing"

	"tactus/cmd/tactus/showfiles"
)

// Every fixture type of the demo shows every colour of its palettes within 1
// ΔE00 of the same, as it goes out in 8 bits, and the sheet has them all.
func TestDemoTypesMatch(t *testing.T) {
	show, err := loadShow(showfiles.Demo, "", io.Discard)
	if err != nil {
		t.Fatal(err)
	}
	s := swatchesOf(show)
	if len(s.kinds) < 4 || len(s.colour) < 20 {
		t.Fatalf("%d types and %d colours, want 4 and 20", len(s.kinds), len(s.colour))
	}
	for _, c := range s.colour {
		for i := range s.kinds {
			if _, _, d := s.kinds[i].match(c.rgb); d > 1 {
				t.Errorf("%s on %s is off by ΔE00 %.2f", c.name, s.kinds[i].name, d)
			}
		}
	}
	var b bytes.Buffer
	if err := s.draw(&b); err != nil {
		t.Fatal(err)
	}
	img, err := png.Decode(&b)
	if err != nil {
		t.Fatal(err)
	}
	r, g, bl, _ := img.At(swatchLeft(1)+swatchWide/2, sheetHead+swatchHigh+swatchGap+4).RGBA()
	if r>>8 < 250 || g>>8 > 8 || bl>>8 > 8 {
		t.Errorf("the red swatch is %d %d %d", r>>8, g>>8, bl>>8)
	}
}
