package plan

import (
	"context"
	"testing"

	"github.com/stretchr/testify/require"

	"tactus/shows/showtest"
)

func TestDemoIsMeasured(t *testing.T) {
	n, err := Measure(context.Background(), showtest.Demo(t), Options{})
	require.NoError(t, err)
	for _, s := range n.Songs {
		t.Logf("%s %d frames, %d columns", s.Name, s.Frames, len(s.Columns))
		for _, x := range s.Sections {
			t.Logf("  %-14s e%-2d strength %.1f  L %.0f (%.0f..%.0f) share %.2f  motion %.2f/s %.2f/beat chroma %.2f contrast %.2f away %.2f faces %.0f (%.0f) flashes %.1f",
				x.Name, x.Energy, x.Strength, x.Brightness, x.Lowest, x.Peak, x.Share, x.PerSecond, x.PerBeat, x.Chroma, x.Contrast, x.Away, x.Faces, x.FacesLow, x.Flashes)
		}
		w := s.Flashes[len(s.Flashes)-1]
		t.Logf("  worst second of %s: %.1f", w.Area, w.General.Flashes)
	}
}
