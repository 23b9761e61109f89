package swatches

import (
	"math"

	"tactus/fixtures"
)

// Points of a Reach: hues all round, and saturations from white to pure.
const (
	ReachHues        = 48
	ReachSaturations = 13
)

// Reach is how far a type is from colours at full brightness: ΔE00 by hue and saturation
// of HSV. The first index is the hue in steps of 360/ReachHues degrees from red, the second
// the saturation in equal steps from 0 to 1.
type Reach [ReachHues][ReachSaturations]float64

// Reach returns how far the type is from the colours that a screen can show.
func (k *Kind) Reach() *Reach {
	var r Reach
	for h := range r {
		for s := range r[h] {
			c := hsv(float64(h)/ReachHues, float64(s)/(ReachSaturations-1))
			_, _, r[h][s] = k.Match(Colour{RGB: c})
		}
	}
	return &r
}

// hsv returns the colour of a hue, in turns from red, and a saturation, at full value: the
// hexcone model over sRGB codes (A. R. Smith, "Color Gamut Transform Pairs", SIGGRAPH 1978).
func hsv(hue, saturation float64) (c fixtures.RGB) {
	for i, shift := range [3]float64{5, 3, 1} {
		k := math.Mod(shift+float64(hue*6), 6)
		code := 1 - float64(saturation*max(0, min(k, 4-k, 1)))
		c[i] = fixtures.DecodeSRGB(code)
	}
	return c
}

// DifferenceWords says what a difference ΔE00 means to whoever looks. The steps are common
// practice, no source: about 1 is what a keen eye sees side by side.
func DifferenceWords(deltaE float64) string {
	switch {
	case deltaE < 1.5:
		return "as asked"
	case deltaE < 4:
		return "very near: seen only side by side"
	case deltaE < UnreachedFrom:
		return "a little different"
	case deltaE < 20:
		return "clearly different: it cannot reach this colour"
	}
	return "another colour: it cannot reach this one"
}

// UnreachedFrom is the ΔE00 from which a colour counts as one that a type cannot reach.
const UnreachedFrom = 8
