package sheet

import (
	"math"

	"tactus/fixtures"
)

// Ink is an sRGB colour on paper: 0xRRGGBB.
type Ink uint32

// Marks that do not show light are grey, so that colour always means light.
const (
	White  Ink = 0xffffff
	Rest   Ink = 0x8f8f8f // background of a head's line, dark enough to show white light
	Fine   Ink = 0xaaaaaa
	Dim    Ink = 0x5f5f5f
	Strong Ink = 0x191919
	Black  Ink = 0x000000
)

func (i Ink) parts() (r, g, b uint8) { return uint8(i >> 16), uint8(i >> 8), uint8(i) }

func inkFrom(r, g, b uint8) Ink { return Ink(r)<<16 | Ink(g)<<8 | Ink(b) }

// InkOf returns the colour of light at full brightness. No light gives black.
func InkOf(l fixtures.RGB) Ink {
	most := max(l[0], l[1], l[2])
	if !(most > 0) || math.IsInf(most, 0) {
		return Black
	}
	byteOf := func(v float64) uint8 {
		return uint8(math.Round(255 * min(1, max(0, fixtures.EncodeSRGB(max(0, v)/most)))))
	}
	return inkFrom(byteOf(l[0]), byteOf(l[1]), byteOf(l[2]))
}

// near reports whether two inks look the same: their red, green and blue,
// 0..255, differ by at most 12 in total.
func (i Ink) near(o Ink) bool {
	apart := func(a, b uint8) int { return max(int(a), int(b)) - min(int(a), int(b)) }
	r, g, b := i.parts()
	r2, g2, b2 := o.parts()
	return apart(r, r2)+apart(g, g2)+apart(b, b2) <= 12
}
