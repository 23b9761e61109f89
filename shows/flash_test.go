package shows_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/clock"
	"tactus/engine"
	"tactus/engine/flash"
	"tactus/engine/night"
	"tactus/protocol/dmx"
	"tactus/shows"
)

// The whole night is rendered, and its light reckoned from the bytes on the wire.
// In no second does a head, a truss or the stage flash more than twice; three a
// second is the line of WCAG 2.2, 2.3.1. The flash limiter has nothing to do. This
// stands for the demo at its own tempos only: it is no safety certificate.
func TestDemoNightStaysBelowThreeFlashes(t *testing.T) {
	show, problems := shows.Load(shows.Demo(), shows.Options{})
	require.NoError(t, problems.Err())
	p := show.Program
	heads := flash.Heads(p.Patch)
	var groups [][]int
	for _, g := range p.Groups {
		var list []int
		for _, h := range g.Heads {
			list = append(list, int(h))
		}
		groups = append(groups, list)
	}
	meters := make([]flash.Counter, len(p.Heads)+len(groups)+1)
	worst := make([]flash.Second, len(meters))
	run := night.Play(p, night.PlannedSongs(p))
	lit, last := map[string]clock.Time{}, clock.Time(0)
	for run.Frame() {
		frame, now := run.Universes(), run.Position().At
		lights := make([]float64, len(p.Heads))
		stage := 0.0
		for h := range lights {
			lights[h] = slotLight(p, heads[h], frame, h)
			stage += lights[h] / float64(len(lights))
			meters[h].Observe(now, grey(lights[h]))
		}
		for i, list := range groups {
			sum := 0.0
			for _, h := range list {
				sum += lights[h] / float64(len(list))
			}
			meters[len(lights)+i].Observe(now, grey(sum))
		}
		meters[len(meters)-1].Observe(now, grey(stage))
		if song := run.Song(); song != nil && stage > 0.02 {
			lit[p.Songs[song.Index].Name] += now - last
		}
		last = now
		for i := range meters {
			if flashes := meters[i].Rate(now)[flash.General]; flashes > worst[i].Flashes {
				worst[i] = flash.Second{Flashes: flashes, End: now}
			}
		}
		assert.Zero(t, run.Status().Limiter.Count, "the flash limiter acted, last in %s", run.Status().Limiter.Area)
	}
	for n := range p.Songs {
		assert.Greater(t, lit[p.Songs[n].Name], 60*clock.Second, "how long %s is lit: was anything looked at?", p.Songs[n].Name)
	}
	for i, second := range worst {
		assert.LessOrEqual(t, second.Flashes, 2.0, "area %d, flashes in the second up to %v", i, second.End.Sub(0))
	}
}

func grey(y float64) [3]float64 { return [3]float64{y, y, y} }

// slotLight reads the light of a head from its slots: its dimmer, if it has one,
// times the luminance of its emitters by their flux, of full white.
func slotLight(p *engine.Program, full flash.Head, frame []dmx.Universe, head int) float64 {
	f := &p.Patch.Placements()[p.Heads[head].Fixture]
	dim, sum, colours := 1.0, 0.0, false
	for i, c := range f.Profile.Channels {
		v := float64(frame[f.Universe].Slots[f.Address-1+i]) / 255
		switch {
		case int(c.Head) != head-f.Head || c.Use != 0:
		case c.Param == 0:
			dim = v
		case c.Param.Emits():
			for _, e := range f.Profile.Emitters {
				if e.Param == c.Param {
					sum += v * e.Flux
					colours = true
				}
			}
		}
	}
	switch {
	case full.Flux == 0:
		return 0
	case !colours:
		return dim
	}
	return dim * sum / full.Flux
}
