package engine

import (
	"testing"
	"testing/synctest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/clock"
)

// The difference in the light fades over as long as was asked for; at 0 it is gone with the
// next frame.
func TestReloadFadesOver(t *testing.T) {
	for _, c := range []struct {
		over, passed clock.Time
		want         float64 // of the old light
	}{{clock.Second / 5, clock.Second / 10, 0.75}, {clock.Second / 5, clock.Second / 5, 0.5}, {0, 0, 0.5}} {
		p := hall(t)
		s := newStage(p)
		s.pass(5 * clock.Second)
		was := float64(s.engine.universes[0].Slots[10])
		to := edited(p)
		dimmed(&to.Looks[p.WalkIn], 0.5)
		r := prepareReload(t, p, to)
		r.FadeOver(c.over)
		require.True(t, s.engine.Reload(r, s.pos))
		s.pass(c.passed)
		assert.InDelta(t, was*c.want, float64(s.engine.universes[0].Slots[10]), 1, "over %v, after %v", c.over, c.passed)
	}
}

// A loop says when it has taken a reload, and when it has passed over one that was
// prepared for another program.
func TestReloadIsTaken(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		p := hall(t)
		g := play(t, func(c *LoopConfig) { c.Engine = New(p) }, &recorder{})
		taken, other := prepareReload(t, p, edited(p)), prepareReload(t, edited(p), edited(p))
		g.until(clock.Second / 10)
		for _, r := range []*Reload{taken, other} {
			select {
			case <-r.Taken():
				require.Fail(t, "it is taken before the loop has it")
			default:
			}
			g.input <- Input{Reload: r}
			<-r.Taken()
		}
		g.until(clock.Second)
		assert.Same(t, taken.Program(), g.snapshot().Program)
		assert.NoError(t, g.end())
	})
}
