package draw

import "tactus/fixtures"

// colour is 0xRRGGBB, or unset for the terminal's default.
type colour uint32

const unset colour = 1 << 24

// grey is a colour of equal parts.
func grey(v uint8) colour { return colour(v)<<16 | colour(v)<<8 | colour(v) }

// encode turns linear light, 0..1, into an sRGB code, 0..255 (IEC 61966-2-1).
func encode(l float64) uint8 { return uint8(float64(fixtures.EncodeSRGB(l)*255) + 0.5) }

// encoder is a table of encode. Each entry is within one code of it.
type encoder [4096]uint8

func newEncoder() *encoder {
	var e encoder
	for i := range e {
		e[i] = encode(float64(i) / float64(len(e)-1))
	}
	return &e
}

func (e *encoder) code(l float32) colour {
	if !(l > 0) {
		return 0
	}
	if l >= 1 {
		return 255
	}
	return colour(e[int(float32(l*float32(len(e)-1))+0.5)])
}

// light is linear red, green and blue.
type light [3]float32

func (e *encoder) colour(l light) colour {
	return e.code(l[0])<<16 | e.code(l[1])<<8 | e.code(l[2])
}

// scaled returns c times x.
func scaled(c fixtures.RGB, x float64) light {
	return light{float32(c[0] * x), float32(c[1] * x), float32(c[2] * x)}
}

// luminance returns the luminance of linear light: the second row of the matrix from
// the primaries of IEC 61966-2-1 to XYZ.
func luminance(l light) float32 {
	return float32(0.2126*l[0]) + float32(0.7152*l[1]) + float32(0.0722*l[2])
}
