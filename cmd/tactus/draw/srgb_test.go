package draw

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/fixtures"
)

// Codes by IEC 61966-2-1, worked with two independent colour libraries.
func TestEncode(t *testing.T) {
	e := newEncoder()
	for l, want := range map[float64]uint8{
		0: 0, 1: 255, 0.2158605: 128, 0.5028865: 188, 0.00303527: 10, 0.00334654: 11,
		-1: 0, 2: 255,
	} {
		assert.Equal(t, want, encode(l), "encode(%v)", l)
		assert.Equal(t, colour(want), e.code(float32(l)), "code(%v)", l)
	}
	assert.Zero(t, encode(math.NaN()), "no number is dark")
	assert.Zero(t, e.code(float32(math.NaN())), "no number is dark")
}

func TestEncoderIsNear(t *testing.T) {
	e := newEncoder()
	for i := range 100_001 {
		l := float64(i) / 100_000
		a, b := int(encode(l)), int(e.code(float32(l)))
		require.LessOrEqual(t, a-b, 1, "%v: table %d, formula %d", l, b, a)
		require.LessOrEqual(t, b-a, 1, "%v: table %d, formula %d", l, b, a)
	}
}

func TestLightOf(t *testing.T) {
	var s fixtures.State
	s[fixtures.Intensity] = 0.5
	s.SetColour(fixtures.RGB{1, 0.5, 0})
	assert.Equal(t, light{0.5, 0.25, 0}, (&output{}).light(&s))
	assert.Equal(t, light{0.5, 0.34, 0.19}, (&output{dims: true}).light(&s))
}
