package shows

import (
	"testing"

	"tactus/clock"
	"tactus/engine"
	"tactus/protocol/dmx"
)

// flashes counts opposing changes of relative luminance of at least a tenth
// whose darker end is below 0.8, two of which are a flash (WCAG 2.2, "general
// flash and red flash thresholds"), and remembers when each was.
type flashes struct {
	low, high float64 // since the last change
	up        bool
	at        []clock.Time
	worst     int // most changes in any second
}

func (f *flashes) see(now clock.Time, y float64) {
	f.low, f.high = min(f.low, y), max(f.high, y)
	switch {
	case f.up && f.high-y >= 0.1 && y < 0.8:
		f.up, f.low = false, y
	case !f.up && y-f.low >= 0.1 && f.low < 0.8:
		f.up, f.high = true, y
	default:
		if f.up {
			f.low = y
		} else {
			f.high = y
		}
		return
	}
	f.at = append(f.at, now)
	for now-f.at[0] > clock.Second {
		f.at = f.at[1:]
	}
	f.worst = max(f.worst, len(f.at))
}

func TestFlashesAreCounted(t *testing.T) {
	for _, c := range []struct {
		halfPeriod clock.Time
		depth      float64
		want       int
	}{
		{clock.Second / 4, 1, 4}, {clock.Second / 10, 1, 10}, {clock.Second / 10, 0.09, 0}, {2 * clock.Second, 1, 1},
	} {
		var f flashes
		for now := clock.Time(0); now < 10*clock.Second; now += clock.Second / 40 {
			y := 0.0
			if now/c.halfPeriod%2 == 1 {
				y = c.depth
			}
			f.see(now, y)
		}
		if f.worst < c.want || f.worst > c.want+1 {
			t.Errorf("a change every %d ms of %v: %d in the worst second, want %d", c.halfPeriod/clock.Millisecond, c.depth, f.worst, c.want)
		}
	}
}

// The whole night is rendered. In no second does a head, or the stage as one,
// flash more than twice; three a second is the line of WCAG 2.2, 2.3.1. This
// stands for the demo at its own tempos only: it is no safety certificate.
func TestDemoNightStaysBelowThreeFlashes(t *testing.T) {
	show, problems := Load(Demo(), Options{})
	if err := problems.Err(); err != nil {
		t.Fatal(err)
	}
	const heads = 12
	for n := range show.Program.Songs {
		s := &show.Program.Songs[n]
		e := engine.New(show.Program)
		e.Do(engine.Command{Kind: engine.SelectSong, Index: int32(n)}, clock.Position{Tempo: s.Tempo})
		var seen [heads + 1]flashes
		lit := 0
		for now := clock.Time(0); ; now += clock.Second / dmx.MaxRate {
			beat := s.Tempo.Beats(now)
			if beat >= s.Length() {
				break
			}
			frame := e.Frame(clock.Position{At: now, Beat: beat, Pulse: beat, Tempo: s.Tempo, Jumps: 1, Playing: true, Sync: clock.Locked, Source: clock.MIDI})
			var whole float64
			for h := range heads {
				y := luminance(&frame[0], h)
				seen[h].see(now, y)
				whole += y / heads
			}
			seen[heads].see(now, whole)
			if whole > 0.02 {
				lit++
			}
		}
		if lit < 44*60 {
			t.Errorf("%s is lit for %d frames only: nothing was looked at", s.Name, lit)
		}
		for h := range seen {
			if seen[h].worst > 4 {
				t.Errorf("%s, head %d (%d is the stage): %d changes in a second, at most 4", s.Name, h, heads, seen[h].worst)
			}
		}
	}
}

// luminance reads washes (dimmer, red, green, blue from slot 1) and warmers
// (red, green, blue from slot 33); weights of WCAG 2.2, relative luminance.
func luminance(u *dmx.Universe, head int) float64 {
	level, at := 1.0, 32+3*(head-8)
	if head < 8 {
		level, at = float64(u.Slots[4*head])/255, 4*head+1
	}
	rgb := u.Slots[at : at+3]
	return level * (0.2126*float64(rgb[0]) + 0.7152*float64(rgb[1]) + 0.0722*float64(rgb[2])) / 255
}
