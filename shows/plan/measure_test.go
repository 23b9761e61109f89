package plan_test

import (
	"context"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"tactus/shows/plan"
	"tactus/shows/showtest"
)

// TestDemoIsMeasured: in each song of the demo, every chorus is stronger than the one
// before it.
func TestDemoIsMeasured(t *testing.T) {
	n, err := plan.Measure(context.Background(), showtest.Demo(t), plan.Options{})
	require.NoError(t, err)
	for _, s := range n.Songs {
		t.Logf("%s %d frames, %d columns", s.Name, s.Frames, len(s.Columns))
		for _, x := range s.Sections {
			t.Logf("  %-14s e%-2d strength %.1f  L %.0f (%.0f..%.0f) share %.2f  motion %.2f/s %.2f/beat chroma %.2f contrast %.2f away %.2f faces %.0f (%.0f) flashes %.1f",
				x.Name, x.Energy, x.Strength, x.Brightness, x.Lowest, x.Peak, x.Share, x.PerSecond, x.PerBeat, x.Chroma, x.Contrast, x.Away, x.Faces, x.FacesLow, x.Flashes)
		}
		var choruses []plan.Section
		for _, x := range s.Sections {
			if strings.HasPrefix(x.Name, "chorus") {
				choruses = append(choruses, x)
			}
		}
		require.GreaterOrEqual(t, len(choruses), 2, s.Name)
		for i := range choruses[1:] {
			require.Greater(t, choruses[i+1].Energy, choruses[i].Energy, "%s, %s: declared energy", s.Name, choruses[i+1].Name)
			require.Greater(t, choruses[i+1].Strength, choruses[i].Strength, "%s, %s: strength, as its energy says", s.Name, choruses[i+1].Name)
		}
		w := s.Flashes[len(s.Flashes)-1]
		t.Logf("  worst second of %s: %.1f", w.Area, w.General.Flashes)
	}
}
