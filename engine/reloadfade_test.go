package engine

import (
	"slices"
	"testing"
	"testing/synctest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/clock"
	"tactus/protocol/dmx"
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

// A loop shows an edit with the next frame after it comes. A command that waits before it
// has its frame first, since its light is the old show's, and the edit shows in the one after.
func TestLoopShowsAnEditAtOnce(t *testing.T) {
	for _, c := range []struct {
		name    string
		command Command
		frames  int // after the edit came, up to the one that shows it
	}{
		{"alone", Command{}, 1},
		{"after a command", Command{Kind: GroupMaster, Index: 0, Level: 1}, 2},
	} {
		synctest.Test(t, func(t *testing.T) {
			const period = clock.Second / 44
			p, o := hall(t), &recorder{}
			g := play(t, func(c *LoopConfig) { c.Engine = New(p) }, o)
			at := clock.Second + period/2 // between two frames
			g.until(at)
			was := o.seen().frames[44].Slots[10]
			to := edited(p)
			dimmed(&to.Looks[p.WalkIn], 0.5)
			r := prepareReload(t, p, to)
			r.FadeOver(0)
			if c.command.Kind != 0 {
				g.command(c.command)
			}
			g.input <- Input{Reload: r}
			g.event(clock.Tick24)
			g.until(2 * clock.Second)
			assert.NoError(t, g.end())
			got := o.seen()
			first := slices.IndexFunc(got.at, func(sent clock.Time) bool { return sent > at })
			require.NotZero(t, was, c.name)
			shown := slices.IndexFunc(got.frames[first:], func(u dmx.Universe) bool { return u.Slots[10] != was })
			assert.Equal(t, c.frames-1, shown, "%s: frames with the old light after the edit", c.name)
			assert.InDelta(t, float64(was)/2, float64(got.frames[first+shown].Slots[10]), 1, c.name)
			assert.Equal(t, 89, len(got.at), "%s: frames in two seconds", c.name)
		})
	}
}
