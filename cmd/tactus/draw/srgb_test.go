package draw

import (
	"math"
	"testing"

	"tactus/fixtures"
)

// Codes by IEC 61966-2-1, worked with two independent colour libraries.
func TestEncode(t *testing.T) {
	e := newEncoder()
	for l, want := range map[float64]uint8{
		0: 0, 1: 255, 0.2158605: 128, 0.5028865: 188, 0.00303527: 10, 0.00334654: 11,
		-1: 0, 2: 255,
	} {
		if got := encode(l); got != want {
			t.Errorf("encode(%v) = %d, want %d", l, got, want)
		}
		if got := e.code(float32(l)); got != colour(want) {
			t.Errorf("code(%v) = %d, want %d", l, got, want)
		}
	}
	if encode(math.NaN()) != 0 || e.code(float32(math.NaN())) != 0 {
		t.Error("no number is dark")
	}
}

func TestEncoderIsNear(t *testing.T) {
	e := newEncoder()
	for i := range 100_001 {
		l := float64(i) / 100_000
		if a, b := int(encode(l)), int(e.code(float32(l))); a-b > 1 || b-a > 1 {
			t.Fatalf("%v: table %d, formula %d", l, b, a)
		}
	}
}

func TestLightOf(t *testing.T) {
	var s fixtures.State
	s[fixtures.Intensity] = 0.5
	s.SetColour(fixtures.RGB{1, 0.5, 0})
	if got := (&gives{}).light(&s); got != (light{0.5, 0.25, 0}) {
		t.Errorf("have %v, want colour times intensity", got)
	}
	if got := (&gives{dims: true}).light(&s); got != (light{0.5, 0.34, 0.19}) {
		t.Errorf("have %v, want half of a lamp's own colour", got)
	}
}
