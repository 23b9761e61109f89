package engine

import (
	"testing"
	"testing/synctest"

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
				if limit := byte(0x99 * (100 - i) / 100); black && now > limit+2 || !black && name != "another look" && now > last+1 {
					t.Errorf("%s, %d ms into the goodbye: front from %x to %x", name, 10*i, last, now)
				}
				last = now
			}
			if err := <-g.done; err != nil {
				t.Error(err)
			}
			if got := r.seen(); got.last(11) != 0 || got.last(1) != 0 || got.last(12) == 0 || got.closed != 1 {
				t.Errorf("%s: at the end front %x, wash %x, house %x; closed %d times", name, got.last(11), got.last(1), got.last(12), got.closed)
			}
		})
	}
}
