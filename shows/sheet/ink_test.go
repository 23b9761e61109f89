package sheet_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"tactus/fixtures"
	"tactus/shows/sheet"
)

// TestInk: hue without brightness, as IEC 61966-2-1 encodes it.
func TestInk(t *testing.T) {
	for _, c := range []struct {
		light fixtures.RGB
		want  sheet.Ink
	}{
		{fixtures.RGB{1, 1, 1}, 0xffffff},
		{fixtures.RGB{0.01, 0.01, 0.01}, 0xffffff},
		{fixtures.RGB{0.5, 0, 0}, 0xff0000},
		{fixtures.RGB{1, 0.2158605, 0}, 0xff8000}, // sRGB 128 is 0.21586 of full
		{fixtures.RGB{}, 0},
		{fixtures.RGB{math.NaN(), math.Inf(1), -1}, 0},
	} {
		assert.Equal(t, c.want, sheet.InkOf(c.light), c.light)
	}
}
