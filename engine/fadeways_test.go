package engine

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tactus/clock"
	"tactus/engine/flash"
	"tactus/fixtures"
	"tactus/protocol/dmx"
)

// What is kept of the ways of fading colours, and of the light of areas, never shows: in
// random nights every frame has the same bytes as with all of it forgotten before each frame.
func TestKeptFadeWaysDoNotShow(t *testing.T) {
	for name, program := range map[string]*Program{"hall": hall(t), "as played": asPlayed(t), "48 heads": rigOf(t, 48, 2)} {
		t.Run(name, func(t *testing.T) {
			rapid.Check(t, func(t *rapid.T) {
				kept, forgetful := newRider(program), newRider(program)
				var want []dmx.Universe
				for _, s := range rapid.SliceOfN(steps(allKinds()...), 1, 12).Draw(t, "steps") {
					s.wait = min(s.wait, 300*clock.Millisecond)
					want = want[:0]
					forgetful.do(s, func(u []dmx.Universe, _ clock.Position) {
						want = append(want, u...)
						clear(forgetful.engine.fadeWays)
						for i := range forgetful.engine.limiter.areas {
							forgetful.engine.limiter.areas[i].sum = flash.SampleOf(fixtures.RGB{9, 9, 9})
						}
					})
					n := 0
					kept.do(s, func(u []dmx.Universe, pos clock.Position) {
						require.Equal(t, want[n:n+len(u)], u, "at %v", pos.At)
						n += len(u)
					})
				}
			})
		})
	}
}
