package engine

import (
	"testing"
	"testing/synctest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/clock"
)

// A share of the input is taken a few commands a frame, in its order, and after all that
// the clock's own queue has: a flood of it moves neither the tempo nor a frame.
func TestSharesAreBoundedByFrame(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		const perFrame, frame = 5, clock.Second / 44
		flood := make(chan Input, 1000)
		for i := range cap(flood) {
			flood <- Input{Command: Command{Kind: GrandMaster, Level: 1 - float64(i)/1000}}
		}
		g := play(t, func(c *LoopConfig) { c.Shares = []Share{{From: flood, PerFrame: perFrame}} })
		left := cap(flood)
		g.ticks(72, 0, 4*clock.Second, func(int) {
			s := g.snapshot()
			taken := cap(flood) - len(flood)
			if want := int(s.Health.Frames) * perFrame; taken != want {
				require.Equal(t, want, taken, "taken after %d frames", s.Health.Frames)
			}
			require.InDelta(t, 1-float64(taken-1)/1000, s.Status.Grand, 1e-9, "the last of %d in order", taken)
			left = len(flood)
		})
		s := g.snapshot()
		assert.Less(t, left, 200, "left of the flood")
		assert.Equal(t, clock.Locked, s.Pos.Sync)
		assert.InDelta(t, 72, s.Pos.Tempo.BPM(), 0.1)
		assert.Zero(t, s.Health.Missed)
		assert.NoError(t, g.end())
	})
}

// What was asked of a show before an edit of it is done before the edit is taken over:
// its commands name parts of the show by index.
func TestSharesAreEmptiedBeforeAReload(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		share := make(chan Input, 100)
		g := play(t, func(c *LoopConfig) { c.Shares = []Share{{From: share, PerFrame: 1}} })
		g.until(100 * clock.Millisecond)
		p := g.snapshot().Program
		for i := range 50 {
			share <- Input{Command: Command{Kind: GrandMaster, Level: 1 - float64(i+1)/100}}
		}
		g.input <- Input{Reload: prepareReload(t, p, hall(t))}
		g.until(123 * clock.Millisecond)
		assert.Empty(t, share)
		g.until(200 * clock.Millisecond)
		s := g.snapshot()
		assert.NotSame(t, p, s.Program)
		assert.InDelta(t, 0.5, s.Status.Grand, 1e-9)
		assert.NoError(t, g.end())
	})
}
