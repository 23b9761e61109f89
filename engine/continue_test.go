package engine

import (
	"math/rand/v2"
	"testing"
	"testing/synctest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/clock"
)

// A DAW stops for two bars, without a clock, and continues where it was. What
// comes then by note, on the dot or 47 ms early, and what the plan has after it,
// is on its beat, as if the music had not been away.
func TestSectionsAfterASilentStop(t *testing.T) {
	const (
		period     = 60 * clock.Second / (160 * 24)
		stop, cont = 4*96 + 24, 6*96 + 24 // ticks from the start, of which the DAW counts none in between
		second     = 6*96 + 2*96          // the bar that a note enters: the third of bar 5, as played
	)
	for _, early := range []clock.Time{0, 47 * clock.Millisecond} {
		synctest.Test(t, func(t *testing.T) {
			p := barProgram(t, 12)
			song := &p.Songs[0]
			song.Sections = sections(song.Meter, "verse", 6.0, "chorus", 2.0, "outro", 4.0)
			p.Window = 120 * clock.Millisecond
			f := &flips{}
			g := play(t, func(c *LoopConfig) { c.Engine, c.Outputs = New(p), []Output{f} })
			r := rand.New(rand.NewPCG(7, 47))
			at := func(tick int) clock.Time { return clock.Second + clock.Time(tick)*period }
			g.command(Command{Kind: SelectSong})
			fired := false
			for n := -48; n < 12*96; n++ {
				if when := at(second) - early; !fired && at(n) >= when {
					fired = true
					g.until(when)
					g.command(Command{Kind: FireSection, Index: 1})
				}
				g.until(at(n) + clock.Time(r.IntN(100_000))) // up to 0.1 ms late
				switch {
				case n == 0:
					g.event(clock.Start)
					g.event(clock.Tick24)
				case n == stop:
					g.event(clock.Stop)
				case n == cont-1:
					g.event(clock.Continue)
				case n < stop || n >= cont:
					g.event(clock.Tick24)
				}
			}
			g.end()
			// Bars 1 to 5 begin as planned; bars 6 and on after the silence. The note
			// at bar 9 as played goes to the chorus, bar 7 of the plan, which looks as
			// bar 7 always does: one level in odd bars, another in even ones.
			want := []int{0, 96, 2 * 96, 3 * 96, 4 * 96, 7 * 96, second, 9 * 96, 10 * 96, 11 * 96}
			for i, tick := range want {
				require.Less(t, i, len(f.at), "changes of light, want %d", len(want))
				off := f.at[i] - at(tick)
				if i > 0 {
					assert.GreaterOrEqual(t, off, -clock.Millisecond, "%v early: change %d came %v from tick %d", early.Sub(0), i, off.Sub(0), tick)
					if off > 2*clock.Millisecond {
						assert.Equal(t, second, tick, "%v early: change %d came %v from tick %d", early.Sub(0), i, off.Sub(0), tick)
					}
				}
				assert.LessOrEqual(t, off, 25*clock.Millisecond, "%v early: change %d came %v from tick %d", early.Sub(0), i, off.Sub(0), tick)
			}
		})
	}
}
