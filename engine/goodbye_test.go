package engine

import (
	"testing"
	"testing/synctest"

	"github.com/stretchr/testify/assert"

	"tactus/clock"
)

// The goodbye has the last word: in the middle of the rise it goes down from
// where the light is, over a held light too, and no release or restore on the
// way lifts anything beyond what is left of it.
func TestGoodbyeOverEverything(t *testing.T) {
	for name, before := range map[string][]Command{
		"rise":            nil,
		"hold":            {{Kind: Hold}},
		"hold, released":  {{Kind: Hold}},
		"blackout":        {{Kind: Blackout}},
		"hold, blackout":  {{Kind: Hold}, {Kind: Blackout}},
		"another look":    {{Kind: ShowLook, Index: 2}},
		"a grand master":  {{Kind: GrandMaster, Level: 0.3, Over: clock.Second}},
		"song, then hold": {{Kind: NextSong}, {Kind: FireSection, Index: 2}, {Kind: Hold}},
	} {
		synctest.Test(t, func(t *testing.T) {
			r := &recorder{}
			g := play(t, func(c *LoopConfig) { c.Rise, c.Goodbye = 2*clock.Second, clock.Second }, r)
			g.until(clock.Second)
			for _, c := range before {
				g.command(c)
			}
			g.until(clock.Second + 50*clock.Millisecond)
			g.cancel()
			black := before != nil && before[len(before)-1].Kind == Blackout
			last := r.seen().last(11)
			for i := range clock.Time(100) {
				switch {
				case i == 30 && name == "hold, released":
					g.command(Command{Kind: Release})
				case i == 40:
					g.command(Command{Kind: Restore})
				}
				g.until(clock.Second + 50*clock.Millisecond + 10*i*clock.Millisecond)
				now := r.seen().last(11)
				// The front light may come out of a blackout, once, but not
				// beyond what the goodbye leaves of 60 %. Looks of the hall do
				// not fade it up by more than a step.
				if black {
					assert.LessOrEqual(t, now, byte(0x99*(100-i)/100)+2, "%s, %d ms into the goodbye: front from %x", name, 10*i, last)
				}
				if !black && name != "another look" {
					assert.LessOrEqual(t, now, last+1, "%s, %d ms into the goodbye: front from %x", name, 10*i, last)
				}
				last = now
			}
			assert.NoError(t, <-g.done)
			got := r.seen()
			assert.Zero(t, got.last(11), "%s: at the end front", name)
			assert.Zero(t, got.last(1), "%s: at the end front", name)
			assert.NotZero(t, got.last(12), "%s: at the end front", name)
			assert.Equal(t, 1, got.closed, "%s: at the end front", name)
		})
	}
}
