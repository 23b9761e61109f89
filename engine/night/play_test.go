package night_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tactus/clock"
	"tactus/engine"
	"tactus/engine/night"
	"tactus/fixtures"
)

// dark is a show of songs that light nothing; the set has them in order.
func dark(songs ...engine.Song) *engine.Program {
	p := &engine.Program{Songs: songs, WalkIn: engine.None, WalkOut: engine.None, Talk: engine.None, Pad: engine.None, Patch: &fixtures.Patch{}, Notes: engine.NewNotes()}
	for i := range songs {
		p.SetList = append(p.SetList, int32(i))
	}
	return p
}

// changing draws a song whose meter changes at any bar and whose tempo changes at
// any beat. The clock is told of a change 50 ms ahead, so that there are no two
// within half a quarter note, and none where a section begins after one that goes
// round: nobody knows 50 ms ahead that this one is left.
func changing(t *rapid.T, name string) engine.Song {
	meter := rapid.Custom(func(t *rapid.T) engine.Meter {
		return engine.Meter{Upper: rapid.Uint8Range(2, 13).Draw(t, "upper"), Lower: rapid.SampledFrom([]uint8{1, 2, 4, 8, 16}).Draw(t, "lower")}
	})
	tempo := rapid.Map(rapid.IntRange(20, 300), func(n int) clock.Tempo { return clock.BPM(float64(n)) })
	s := engine.Song{Name: name, Meter: meter.Draw(t, "meter"), Tempo: tempo.Draw(t, "tempo"), Program: -1}
	at, changed := clock.Beat(0), clock.Beat(0)
	for i := range rapid.IntRange(1, 3).Draw(t, "sections") {
		c := engine.Section{Name: fmt.Sprintf("part %d", i+1), Start: at, Note: uint8(60 + i), Loop: rapid.Bool().Draw(t, "goes round")}
		for range rapid.IntRange(1, 3).Draw(t, "bars") {
			if at > 0 && rapid.IntRange(0, 2).Draw(t, "changes") == 0 {
				if m := meter.Draw(t, "meter"); m != s.MeterAt(at) {
					s.Meters = append(s.Meters, engine.MeterChange{At: at, Meter: m})
				}
			}
			m := s.MeterAt(at)
			if rapid.IntRange(0, 2).Draw(t, "tempos") == 0 {
				if b := at + clock.Beat(rapid.IntRange(0, m.Beats()-1).Draw(t, "beat"))*m.Beat(); b >= changed+clock.Quarter/2 && !(i > 0 && b == c.Start && s.Sections[i-1].Loop) {
					s.Tempos = append(s.Tempos, engine.TempoChange{At: b, Tempo: tempo.Draw(t, "tempo")})
					changed = b
				}
			}
			at += m.Bar()
		}
		c.Length = at - c.Start
		s.Sections = append(s.Sections, c)
	}
	return s
}

// Every frame of every song comes when the written tempos say, every section is
// played once in its order, those that go round too, and each beat and section
// begins with a frame.
func TestNightLandsOnTime(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := dark(changing(t, "One"), changing(t, "Two"))
		r := night.Play(p, night.PlannedSongs(p))
		began, song, section, beat := clock.Time(0), (*night.Song)(nil), int32(-1), clock.Beat(0)
		var came []string
		for r.Frame() {
			now := r.Song()
			if now == nil {
				continue
			}
			s := &p.Songs[now.Index]
			if now != song {
				song, section, began, beat = now, -1, r.Position().At, 0
				require.Zero(t, r.Beat(), "%s begins", s.Name)
			}
			off := r.Position().At - began - s.TimeAt(r.Beat())
			require.LessOrEqual(t, max(off, -off), clock.Microsecond, "%s at beat %v of %v", s.Name, r.Beat().Quarters(), s.Length().Quarters())
			if i := r.Section(); i.Index != section {
				section = i.Index
				came = append(came, s.Name+": "+s.Sections[section].Name)
				assert.Equal(t, 1, i.Pass)
			}
			// No beat is passed by more than a frame: its frame is there, or the one before
			// it was so close that it goes as early as it may.
			if r.Beat() >= beat {
				late := s.TimeAt(r.Beat()) - s.TimeAt(beat)
				require.LessOrEqual(t, late, clock.Second/44+clock.Microsecond, "%s: beat %v", s.Name, beat.Quarters())
				beat = s.NextBeat(r.Beat())
			}
		}
		var want []string
		for i := range p.Songs {
			for k := range p.Songs[i].Sections {
				want = append(want, p.Songs[i].Name+": "+p.Songs[i].Sections[k].Name)
			}
		}
		assert.Equal(t, want, came)
	})
}

// The next song begins on a whole quarter note of the night, at least two bars
// after the one before, and the transport stands until then.
func TestRests(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := dark(changing(t, "One"), changing(t, "Two"))
		songs := night.PlannedSongs(p)
		one := &p.Songs[0]
		bar := one.MeterAt(one.Length()).Bar()
		require.GreaterOrEqual(t, songs[0].Rest, 2*bar)
		require.Less(t, songs[0].Rest, 7*bar)
		require.Equal(t, songs[0].NextStart(p), songs[1].Start)
		require.Zero(t, songs[1].Start%clock.Quarter)
		r := night.Play(p, songs)
		for r.Frame() && r.Song() == nil { // walk-in
			require.False(t, r.Position().Playing)
		}
		for r.Song() != nil && r.Frame() {
		}
		stood := r.Position().At
		for r.Song() == nil && r.Frame() {
			require.Equal(t, r.Song() != nil, r.Position().Playing)
		}
		require.NotNil(t, r.Song())
		rest := one.TempoAt(one.Length()).Span(songs[0].Rest)
		require.InDelta(t, int64(rest), int64(r.Position().At-stood), float64(clock.Second/44+clock.Microsecond))
	})
}

// Two bars, and more of them where that ends on a whole quarter note; where no number of
// bars does, two bars and the rest of the quarter.
func TestRestIsShort(t *testing.T) {
	sixteenths := func(upper uint8) engine.Meter { return engine.Meter{Upper: upper, Lower: 16} }
	for _, c := range []struct {
		name   string
		meter  engine.Meter
		length clock.Beat // in sixteenths
		change engine.Meter
		rest   clock.Beat // in sixteenths
	}{
		{"4/4", engine.Meter{Upper: 4, Lower: 4}, 16, engine.Meter{}, 32},
		{"3/16", sixteenths(3), 3, engine.Meter{}, 9},
		{"5/16", sixteenths(5), 5, engine.Meter{}, 15},
		{"3/16, then 2/16", sixteenths(3), 5, sixteenths(2), 7},
	} {
		s := engine.Song{Name: c.name, Meter: c.meter, Tempo: clock.BPM(120), Program: -1, Sections: []engine.Section{{Length: c.length * clock.Quarter / 4}}}
		if c.change != (engine.Meter{}) {
			s.Meters = []engine.MeterChange{{At: c.meter.Bar(), Meter: c.change}}
		}
		assert.Equal(t, c.rest*clock.Quarter/4, night.PlannedSongs(dark(s))[0].Rest, c.name)
	}
}

// A song outside the set comes right after the walk-in, a song of it after those
// before it, where it comes first.
func TestUpTo(t *testing.T) {
	bare := func(name string) engine.Song {
		m := engine.Meter{Upper: 4, Lower: 4}
		return engine.Song{Name: name, Meter: m, Tempo: clock.BPM(120), Program: -1, Sections: []engine.Section{{Name: "all", Length: m.Bar()}}}
	}
	p := dark(bare("One"), bare("Two"), bare("Three"), bare("Four"))
	p.Songs[3].Sections = nil
	p.SetList = []int32{1, 3, 0, 1}
	names := func(list []night.Song) (names []string) {
		for _, s := range list {
			names = append(names, fmt.Sprintf("%s at %d", p.Songs[s.Index].Name, s.Place))
		}
		return names
	}
	assert.Equal(t, []string{"Two at 0", "One at 2", "Two at 3"}, names(night.PlannedSongs(p)))
	assert.Equal(t, []string{"Two at 0"}, names(night.SongsUpTo(p, 1)))
	assert.Equal(t, []string{"Two at 0", "One at 2"}, names(night.SongsUpTo(p, 0)))
	assert.Equal(t, []string{"Three at -1"}, names(night.SongsUpTo(p, 2)))
	assert.Empty(t, night.SongsUpTo(p, 3))
}
