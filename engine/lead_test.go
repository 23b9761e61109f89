package engine

import (
	"testing"
	"testing/synctest"

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
				if off := s.Status.Beat - want; off > quarter/50 || off < -quarter/15 { // a frame is 1/19
					t.Fatalf("lead %v, tick %d: %.3f beats off the plan", lead.Sub(0), n, off.Quarters())
				}
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
		if got := tempo(); got != 100 {
			t.Fatalf("tapped 100, tempo %v", got)
		}
		g.command(Command{Kind: SelectSong, Index: 0})
		if got := tempo(); got != 100 {
			t.Errorf("the same song again: tempo %v, want the tapped 100", got)
		}
		g.command(Command{Kind: SelectSong, Index: 3})
		if got := tempo(); got != 120 {
			t.Errorf("the next song: tempo %v, want its 120", got)
		}
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
			if got := r.seen(); got.last(11) != 0 || got.closed != 1 {
				t.Errorf("goodbye of %v: the last frame has front at %x; closed %d times", (clock.Second + 10*i*clock.Millisecond).Sub(0), got.last(11), got.closed)
			}
		})
	}
}
