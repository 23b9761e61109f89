package plan_test

import (
	"context"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/engine"
	"tactus/fixtures"
	"tactus/shows/plan"
	"tactus/shows/showtest"
)

// What is measured of a song in deep blue is the light that leaves: brighter where deep
// colours are bright, and in no section darker. Colours of the palette stay the palette's.
func TestBrightDeepColoursAreMeasured(t *testing.T) {
	measure := func(bright bool) *plan.Night {
		show := showtest.Demo(t)
		show.Program.Songs = show.Program.Songs[:1]
		show.Program.SetList = []int32{0}
		song := &show.Program.Songs[0]
		blue := fixtures.RGB{0, 0, 1}
		song.Palette = engine.Palette{blue, blue, blue, blue}
		song.Deep.Roles = [engine.NumRoles]bool{bright, bright, bright, bright}
		n, err := plan.Measure(context.Background(), show, plan.Options{})
		require.NoError(t, err)
		return n
	}
	matched, bright := measure(false), measure(true)
	for i := range matched.Songs[0].Sections {
		a, b := &matched.Songs[0].Sections[i], &bright.Songs[0].Sections[i]
		t.Logf("%-12s L* %.0f matched, %.0f bright", a.Name, a.Brightness, b.Brightness)
		assert.Greater(t, b.Brightness, a.Brightness+5, a.Name)
		assert.Greater(t, b.Strength, a.Strength, a.Name)
		assert.Zero(t, b.Away, "%s: light off the palette", a.Name)
	}
	// The back truss mixes of red, green and blue: 3.43 times as bright, once the fade from
	// the house's colours is over.
	heads := 0
	for h := range matched.Show.Program.Heads {
		at := matched.Show.Program.Patch.Placements()[matched.Show.Program.Heads[h].Fixture]
		if at.Profile.Name != "dimmer-rgb" {
			continue
		}
		heads++
		for k, c := range matched.Songs[0].Columns {
			if c.Beat < matched.Songs[0].Sections[1].Start {
				continue
			}
			was, is := c.Lights[h][2], bright.Songs[0].Columns[k].Lights[h][2]
			assert.InDelta(t, 3.43*was, is, 0.01+0.003*is, "head %d, column %d", h, k)
		}
	}
	assert.Equal(t, 4, heads)
}
