package plot_test

import (
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/engine"
	"tactus/shows"
	"tactus/shows/plot"
	"tactus/shows/showtest"
)

// lookIn draws a look of a show, and returns the fills of its discs in order.
func lookIn(t *testing.T, show *shows.Show, look string, song int32, effects []int32) []string {
	t.Helper()
	i := slices.IndexFunc(show.Program.Looks, func(c engine.Cue) bool { return c.Name == look })
	require.GreaterOrEqual(t, i, 0)
	src := plot.LookLight(show, plot.LookPicture{Look: int32(i), Effects: effects, Song: song}).SVG()
	wellFormed(t, src)
	assert.Contains(t, string(src), "The look "+look)
	var fills []string
	for _, m := range regexp.MustCompile(`<circle [^>]*fill="(#[0-9a-f]{6})"`).FindAllStringSubmatch(string(src), -1) {
		fills = append(fills, m[1])
	}
	return fills
}

// Looks have the colours of the song, darker looks are darker, and effects show.
func TestLookLight(t *testing.T) {
	show := showtest.Demo(t)
	none := []int32{}
	loud := lookIn(t, show, "full sail", 0, none)
	require.Len(t, loud, 12, "8 washes, 2 places of warmers that hang over one another, 2 fronts")
	assert.NotEqual(t, loud, lookIn(t, show, "full sail", 1, none), "in the colours of two songs")
	assert.NotEqual(t, loud, lookIn(t, show, "full sail", engine.None, none), "in the show's own colours")
	sum := func(fills []string) (all int) {
		for _, f := range fills {
			for i := 1; i < 7; i += 2 {
				all += strings.Index("0123456789abcdef", f[i:i+1])
			}
		}
		return all
	}
	assert.Greater(t, sum(loud), 2*sum(lookIn(t, show, "embers", 0, none)))
	swayed, err := plot.PictureEffects(show.Program, []string{"sway"})
	require.NoError(t, err)
	tide := lookIn(t, show, "tide", 0, none)
	assert.NotEqual(t, tide, lookIn(t, show, "tide", 0, swayed))
	assert.NotEqual(t, tide, lookIn(t, show, "tide", 0, nil), "with the look's own effects")
	_, err = plot.PictureEffects(show.Program, []string{"sway", "swing"})
	assert.EqualError(t, err, `the show has no effect "swing"`)
}

// The picture of a look is made without changing the show.
func TestLookLightLeavesTheShow(t *testing.T) {
	show := showtest.Demo(t)
	looks, palette, walkIn := slices.Clone(show.Program.Looks), show.Program.HousePalette, show.Program.WalkIn
	before := lookIn(t, show, "tide", 0, nil)
	assert.Equal(t, looks, show.Program.Looks)
	assert.Equal(t, palette, show.Program.HousePalette)
	assert.Equal(t, walkIn, show.Program.WalkIn)
	assert.Equal(t, before, lookIn(t, show, "tide", 0, nil), "drawn again")
}

func BenchmarkLookLight(b *testing.B) {
	show := showtest.Demo(b)
	for b.Loop() {
		plot.LookLight(show, plot.LookPicture{Look: 3, Song: 0}).SVG()
	}
}
