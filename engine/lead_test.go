package engine

import (
	"testing"
	"testing/synctest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/clock"
	"tactus/protocol/dmx"
)

// A note means the beat that it sounds on, however far ahead of the music the
// light is rendered: the plan goes on from there, not half a beat later.
func TestNotesMeanTheMusicNotTheLead(t *testing.T) {
	for _, lead := range []clock.Time{0, 60 * clock.Millisecond, 200 * clock.Millisecond} {
		synctest.Test(t, func(t *testing.T) {
			g := play(t, func(c *LoopConfig) { c.Lead = lead })
			g.command(Command{Kind: SelectSong, Index: 0})
			const beat = clock.Second * 60 / 140
			g.ticks(140, clock.Second, clock.Second+40*beat, func(n int) {
				switch n {
				case 0:
					g.event(clock.Start)
				case 24 * 8:
					g.command(Command{Kind: FireNote, Index: 62}) // chorus 1, beat 24
				case 24 * 20:
					g.command(Command{Kind: SelectSong, Index: 3})
				}
				s := g.snapshot()
				at := beat * clock.Time(n) / 24
				want := clock.BPM(140).Beats(at + lead)
				switch song := s.Status.Song; {
				case n > 24*22 && song == 3:
					want -= 20 * quarter
				case n > 24*10 && n < 24*20 && song == 0:
					want += (24 - 8) * quarter
				default:
					return
				}
				off := s.Status.Beat - want // a frame is 1/19
				require.LessOrEqual(t, off, quarter/50, "lead %v, tick %d: %.3f beats off the plan", lead.Sub(0), n, off.Quarters())
				require.GreaterOrEqual(t, off, -quarter/15, "lead %v, tick %d: %.3f beats off the plan", lead.Sub(0), n, off.Quarters())
			})
			g.end()
		})
	}
}

// A song brings its tempo along for the internal clock, also when the song
// before it had the same and a person has tapped another since. A program
// change that comes twice does not.
func TestEverySongBringsItsTempo(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		g := play(t, nil)
		tempo := func() float64 {
			g.until(g.base.Now() + 50*clock.Millisecond)
			return g.snapshot().Pos.Tempo.BPM()
		}
		g.until(clock.Millisecond) // a frame is 22 ms away: the taps count from when they came
		g.command(Command{Kind: SelectSong, Index: 0})
		for range 4 {
			g.event(clock.Tap)
			g.until(g.base.Now() + 600*clock.Millisecond)
		}
		require.Equal(t, 100.0, tempo(), "tapped 100")
		g.command(Command{Kind: SelectSong, Index: 0})
		assert.Equal(t, 100.0, tempo(), "the same song again")
		g.command(Command{Kind: SelectSong, Index: 3})
		assert.Equal(t, 120.0, tempo(), "the next song")
		g.end()
	})
}

// slow is an output that takes ten frames a second.
type slow struct {
	last clock.Time
	kept *recorder
}

func (s *slow) Send(now clock.Time, u []dmx.Universe, due []bool) error {
	if now-s.last < clock.Second/10 && s.kept.seen().sent > 0 {
		return nil
	}
	s.last = now
	return s.kept.Send(now, u, due)
}

func (s *slow) Close() error { return s.kept.Close() }

// The goodbye is not over before an output with few frames has the end of it.
func TestGoodbyeReachesSlowOutputs(t *testing.T) {
	for i := range clock.Time(10) { // wherever its frames lie
		synctest.Test(t, func(t *testing.T) {
			r := &recorder{}
			g := play(t, func(c *LoopConfig) {
				c.Goodbye = clock.Second + 10*i*clock.Millisecond
				c.Dark = clock.Second/10 + clock.Second/dmx.MaxRate
				c.Outputs = []Output{&slow{kept: r}}
			})
			g.until(clock.Second)
			g.end()
			got := r.seen()
			assert.Zero(t, got.last(11), "goodbye of %v: the last frame has front", (clock.Second + 10*i*clock.Millisecond).Sub(0))
			assert.Equal(t, 1, got.closed, "goodbye of %v: the last frame has front", (clock.Second + 10*i*clock.Millisecond).Sub(0))
		})
	}
}
