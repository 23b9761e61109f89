package smf

import (
	"bytes"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gitlab.com/gomidi/midi/v2"
	"gitlab.com/gomidi/midi/v2/smf"
	"pgregory.net/rapid"

	"tactus/clock"
	"tactus/engine"
)

// Times by hand. 4/4 at 96: a quarter is 0.625 s; 10 bars and 2 of gap are 48
// quarters, 30 s. 6/8 at 60 dotted quarters (90 quarters): a bar is 3 quarters
// of 666,667 µs; 4 bars and 2 of gap are 18. 7/16: a bar is 1.75 quarters of
// 450,000 µs; 5 bars and 2 of gap come to 12.25, so the walk-out waits for 14.
func TestPlanTimes(t *testing.T) {
	const us = 1000 // ns
	want := []struct {
		quarters float64
		at       clock.Time
		name     string
		note     uint8
		program  int16
	}{
		{0, 0, "Lanterns on the Pier: intro", 36, 0},
		{8, 5_000_000 * us, "Lanterns on the Pier: verse 1", 37, -1},
		{24, 15_000_000 * us, "Lanterns on the Pier: chorus 1", 38, -1},
		{48, 30_000_000 * us, "Tide Table Waltz: intro", 48, 1},
		{51, (30_000_000 + 3*666_667) * us, "Tide Table Waltz: verse 1", 49, -1},
		{66, (30_000_000 + 18*666_667) * us, "Gull Street: intro", 60, 2},
		{67.75, (30_000_000 + 18*666_667 + 787_500) * us, "Gull Street: verse 1", 61, -1},
		{71.25, (30_000_000 + 18*666_667 + 2_362_500) * us, "Gull Street: chorus 1", 62, -1},
		{80, (30_000_000 + 18*666_667 + 6_300_000) * us, "walk-out", 5, -1},
	}
	got := planned(harbour(t))
	require.Len(t, got, len(want))
	for i, w := range want {
		g := got[i]
		program := int16(-1)
		if g.selects.channel != 0 {
			program = g.selects.program
		}
		assert.Equal(t, w.quarters, g.beat.Quarters(), "entry %d", i)
		assert.Equal(t, w.at, g.at, "entry %d", i)
		assert.Equal(t, w.name, g.name, "entry %d", i)
		assert.Equal(t, w.note, g.note, "entry %d", i)
		assert.Equal(t, w.program, program, "entry %d", i)
	}
}

// What the plan says is what the library reads from the file: each entry's
// messages lie on its tick and at its time.
func TestPlanMatchesFile(t *testing.T) {
	p := harbour(t)
	file, err := smf.ReadFrom(bytes.NewReader(write(t, p)))
	require.NoError(t, err)
	type heard struct {
		tick          int64
		channel, note uint8
	}
	var ons []heard
	sounding := map[[2]uint8]bool{}
	tick := int64(0)
	for _, e := range file.Tracks[1] {
		tick += int64(e.Delta)
		var ch, key, v uint8
		switch {
		case midi.Message(e.Message).GetNoteOn(&ch, &key, &v):
			ons = append(ons, heard{tick, ch + 1, key})
			sounding[[2]uint8{ch, key}] = true
		case midi.Message(e.Message).GetNoteOff(&ch, &key, &v):
			delete(sounding, [2]uint8{ch, key})
		}
	}
	assert.Empty(t, sounding, "notes without an end")
	plan := planned(p)
	require.Len(t, ons, len(plan))
	for i, e := range plan {
		want := heard{int64(e.beat) * Division / int64(clock.Quarter), e.channel, e.note}
		assert.Equal(t, want, ons[i], e.name)
		us := file.TimeAt(want.tick) // the library rounds
		assert.LessOrEqual(t, abs(us-int64(e.at/1000)), int64(1), "%s: %d µs in the file, %d µs in the plan", e.name, us, e.at/1000)
	}
}

func abs(x int64) int64 { return max(x, -x) }

// The engine, fed with the plan's messages as a DAW would send them, stands
// where the plan says, with either kind of song position.
func TestPlanPlays(t *testing.T) {
	for _, runsOn := range []bool{true, false} {
		p := harbour(t)
		p.RunsOn = runsOn
		e := engine.New(p)
		for _, entry := range planned(p) {
			pos := clock.Position{At: entry.at, Beat: entry.beat, Pulse: entry.beat, Playing: true, Tempo: 96_000_000}
			if s := entry.selects; s.channel != 0 {
				if c, ok := p.Notes.ProgramChange(s.channel, uint8(s.program)); ok {
					e.Do(c, pos)
				}
			}
			if c, ok := p.Notes.NoteOn(entry.channel, entry.note); ok {
				e.Do(c, pos)
			}
			e.Frame(pos)
			s := e.Status(pos)
			if entry.song == engine.None {
				assert.Equal(t, engine.None, s.Song, "walk-out")
				assert.Equal(t, "good night", s.Look, "walk-out")
				continue
			}
			// The engine's grid is an eighth, the 7/16 bar is not: there the
			// place may be a sixteenth off, the section may not.
			off := s.Beat - p.Songs[entry.song].Sections[entry.section].Start
			assert.Equal(t, entry.song, s.Song, "runs on %v, %s", runsOn, entry.name)
			assert.Equal(t, entry.section, s.Section, "runs on %v, %s", runsOn, entry.name)
			assert.LessOrEqual(t, off, clock.Sixteenth, "runs on %v, %s", runsOn, entry.name)
			assert.GreaterOrEqual(t, off, -clock.Sixteenth, "runs on %v, %s", runsOn, entry.name)
			if entry.song != 2 {
				assert.Zero(t, off, "%s: off the downbeat", entry.name)
			}
		}
	}
}

func TestSelection(t *testing.T) {
	p := harbour(t)
	p.Notes.ByProgram[1] = engine.None
	p.Notes.Controls[7] = engine.NextSong
	plan := planned(p)
	s := plan[3].selects
	assert.EqualValues(t, -1, s.program, "without a program change, the note for the next song")
	assert.EqualValues(t, 7, s.note, "without a program change, the note for the next song")
	assert.EqualValues(t, 16, s.channel, "without a program change, the note for the next song")
	assert.Contains(t, listing(t, write(t, p)), "48.000 q  channel 16 note 7 on 100\n2   30000000 us   48.000 q  channel 1 note 48 on", "both notes belong at the downbeat, the song's first")
	p.SetList = []int32{0, 2, 0, 1} // "next" after the second 0 leads to 2
	s = planned(p)[9].selects
	assert.EqualValues(t, -1, s.program, "the note would choose another song")
	assert.Equal(t, engine.NoNote, s.note, "the note would choose another song")
	p.Notes.Control = 0
	assert.EqualValues(t, 1, planned(p)[0].selects.channel, "any channel is written as 1")
}

// Notes that the engine would read as something else are not sent.
func TestMisreadNotes(t *testing.T) {
	for name, spoil := range map[string]func(*engine.Program){
		"control": func(p *engine.Program) { p.Notes.Control = 0; p.Notes.Controls[37] = engine.Blackout },
		"tap":     func(p *engine.Program) { p.Notes.Control = 1; p.Notes.Tap = 37 },
		"shared":  func(p *engine.Program) { p.Songs[0].Sections[1].Note = 36 },
		"none":    func(p *engine.Program) { p.Songs[0].Sections[1].Note = engine.NoNote },
	} {
		p := harbour(t)
		spoil(p)
		plan := planned(p)
		assert.EqualValues(t, 36, plan[0].note, name)
		assert.Equal(t, engine.NoNote, plan[1].note, name)
		assert.EqualValues(t, 38, plan[2].note, name)
	}
	p := harbour(t)
	p.Notes.Fire = 0
	for _, e := range planned(p)[:8] {
		assert.Equal(t, engine.NoNote, e.note, "no channel fires, yet %s", e.name)
	}
}

func TestNoWalkOut(t *testing.T) {
	for _, spoil := range []func(*engine.Program){
		func(p *engine.Program) { p.WalkOut = engine.None },
		func(p *engine.Program) { p.Notes.Controls[5] = 0 },
	} {
		p := harbour(t)
		spoil(p)
		plan := planned(p)
		assert.Equal(t, "Gull Street: chorus 1", plan[len(plan)-1].name, "ends")
	}
}

// Any set list: songs start on whole quarter notes and at bar lines of the song
// before, times grow, and the file reads back.
func TestPlanProperties(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		p := harbour(t)
		n := rapid.IntRange(1, 5).Draw(r, "songs")
		p.Songs, p.SetList = nil, nil
		for i := range n {
			m, _ := engine.NewMeter(rapid.IntRange(1, 32).Draw(r, "upper"), 1<<rapid.IntRange(0, 4).Draw(r, "lower"))
			tempo := clock.Tempo(rapid.Int64Range(int64(clock.MinTempo), int64(clock.MaxTempo)).Draw(r, "tempo"))
			bars := rapid.SliceOfN(rapid.IntRange(1, 16), 1, 4).Draw(r, "bars")
			p.Songs = append(p.Songs, songOf("song", m, tempo, int16(i), uint8(10+5*i), bars...))
			p.SetList = append(p.SetList, int32(i))
			p.Notes.ByProgram[i] = int32(i)
		}
		last, start := timed{entry{beat: -1}, -1}, clock.Beat(0)
		for _, e := range planned(p) {
			require.Greater(r, e.at, last.at, e)
			require.Greater(r, e.beat, last.beat, e)
			if e.section <= 0 {
				require.Zero(r, e.beat%clock.Quarter, "%s starts at %v quarters", e.name, e.beat.Quarters())
				if last.beat >= 0 {
					require.Zero(r, (e.beat-start)%p.Songs[last.song].Meter.Bar(), "%s is off the bar lines before it", e.name)
				}
				start = e.beat
			}
			last = e
		}
		b, err := Write(p)
		require.NoError(r, err)
		_, err = smf.ReadFrom(bytes.NewReader(b))
		require.NoError(r, err)
	})
}

// Bar lines in 6/8: every bar of the song is three quarters long and each beat
// 36 MIDI clocks.
func TestCompoundBars(t *testing.T) {
	p := harbour(t)
	plan := planned(p)
	bar := plan[4].beat - plan[3].beat // an intro of one bar
	assert.Equal(t, 3*clock.Quarter, bar, "a bar of 6/8 is %v quarters", bar.Quarters())
	beats := p.Songs[1].Meter.Beats()
	assert.Equal(t, 2, beats)
	assert.EqualValues(t, 36, bar/clock.Beat(beats)/clock.Tick)
}

// planned returns a program's entries with the time of each.
func planned(p *engine.Program) (list []timed) {
	entries, _ := entriesOf(p)
	var t timeline
	for _, e := range entries {
		if e.section == 0 {
			t.begin(&p.Songs[e.song], e.beat)
		}
		list = append(list, timed{e, t.at(e.beat)})
	}
	return list
}

type timed struct {
	entry
	at clock.Time
}

// timeline counts the time of a file by its tempo map, exactly: in ticks ×
// microseconds a quarter note.
type timeline struct {
	last    *engine.Song // or nil
	from    clock.Beat   // the last song's first downbeat
	elapsed int64
}

// begin puts a song at a beat.
func (t *timeline) begin(s *engine.Song, at clock.Beat) {
	if t.last != nil {
		t.elapsed = t.sum(at)
	}
	t.from = at
	t.last = s
}

// at returns when a beat of the last song, or after it, falls.
func (t *timeline) at(b clock.Beat) clock.Time {
	return clock.Time(t.sum(b) * 1000 / Division)
}

func (t *timeline) sum(b clock.Beat) int64 {
	sum, from, micros := t.elapsed, t.from, microsPerQuarter(t.last.Tempo)
	for i := range t.last.Tempos {
		c := &t.last.Tempos[i]
		at := t.from + c.At
		if at > b {
			break
		}
		sum += int64(ticks(at-from)) * micros
		from, micros = at, microsPerQuarter(c.Tempo)
	}
	return sum + int64(ticks(b-from))*micros
}
