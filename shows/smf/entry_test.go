package smf

import (
	"bytes"
	"strings"
	"testing"

	"tactus/clock"
	"tactus/engine"

	"gitlab.com/gomidi/midi/v2"
	"gitlab.com/gomidi/midi/v2/smf"
	"pgregory.net/rapid"
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
	got := Plan(harbour(t))
	if len(got) != len(want) {
		t.Fatalf("%d entries, want %d", len(got), len(want))
	}
	for i, w := range want {
		g := got[i]
		program := int16(-1)
		if g.Select.Channel != 0 {
			program = g.Select.Program
		}
		if g.Beat.Quarters() != w.quarters || g.At != w.at || g.Name != w.name || g.Note != w.note || program != w.program {
			t.Errorf("entry %d: %+v, want %+v", i, g, w)
		}
	}
}

// What the plan says is what the library reads from the file: each entry's
// messages lie on its tick and at its time.
func TestPlanMatchesFile(t *testing.T) {
	p := harbour(t)
	file, err := smf.ReadFrom(bytes.NewReader(write(t, p)))
	if err != nil {
		t.Fatal(err)
	}
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
	if len(sounding) != 0 {
		t.Errorf("notes without an end: %v", sounding)
	}
	plan := Plan(p)
	if len(ons) != len(plan) {
		t.Fatalf("%d notes, want %d", len(ons), len(plan))
	}
	for i, e := range plan {
		want := heard{int64(e.Beat) * Division / int64(clock.Quarter), e.Channel, e.Note}
		if ons[i] != want {
			t.Errorf("%s: have %+v, want %+v", e.Name, ons[i], want)
		}
		if us := file.TimeAt(want.tick); abs(us-int64(e.At/1000)) > 1 { // the library rounds
			t.Errorf("%s: %d µs in the file, %d µs in the plan", e.Name, us, e.At/1000)
		}
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
		for _, entry := range Plan(p) {
			pos := clock.Position{At: entry.At, Beat: entry.Beat, Pulse: entry.Beat, Playing: true, Tempo: 96_000_000}
			if s := entry.Select; s.Channel != 0 {
				if c, ok := p.Notes.ProgramChange(s.Channel, uint8(s.Program)); ok {
					e.Do(c, pos)
				}
			}
			if c, ok := p.Notes.NoteOn(entry.Channel, entry.Note); ok {
				e.Do(c, pos)
			}
			e.Frame(pos)
			s := e.Status(pos)
			if entry.Song == engine.None {
				if s.Song != engine.None || s.Look != "good night" {
					t.Errorf("walk-out: %+v", s)
				}
				continue
			}
			// The engine's grid is an eighth, the 7/16 bar is not: there the
			// place may be a sixteenth off, the section may not.
			off := s.Beat - p.Songs[entry.Song].Sections[entry.Section].Start
			if s.Song != entry.Song || s.Section != entry.Section || off > clock.Sixteenth || off < -clock.Sixteenth {
				t.Errorf("runs on %v, %s: %+v", runsOn, entry.Name, s)
			}
			if entry.Song != 2 && off != 0 {
				t.Errorf("%s: %d off the downbeat", entry.Name, off)
			}
		}
	}
}

func TestSelection(t *testing.T) {
	p := harbour(t)
	p.Notes.ByProgram[1] = engine.None
	p.Notes.Controls[7] = engine.NextSong
	plan := Plan(p)
	if s := plan[3].Select; s.Program != -1 || s.Note != 7 || s.Channel != 16 {
		t.Errorf("without a program change, the note for the next song: %+v", s)
	}
	if text := listing(t, write(t, p)); !strings.Contains(text, "48.000 q  channel 16 note 7 on 100\n2   30000000 us   48.000 q  channel 1 note 48 on") {
		t.Errorf("both notes belong at the downbeat, the song's first:\n%s", text)
	}
	p.SetList = []int32{0, 2, 0, 1} // "next" after the second 0 leads to 2
	if s := Plan(p)[9].Select; s.Program != -1 || s.Note != engine.NoNote {
		t.Errorf("the note would choose another song: %+v", s)
	}
	p.Notes.Control = 0
	if s := Plan(p)[0].Select; s.Channel != 1 {
		t.Errorf("any channel is written as 1: %+v", s)
	}
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
		plan := Plan(p)
		if plan[0].Note != 36 || plan[1].Note != engine.NoNote || plan[2].Note != 38 {
			t.Errorf("%s: notes %d %d %d, want 36 255 38", name, plan[0].Note, plan[1].Note, plan[2].Note)
		}
	}
	p := harbour(t)
	p.Notes.Fire = 0
	for _, e := range Plan(p)[:8] {
		if e.Note != engine.NoNote {
			t.Errorf("no channel fires, yet %s sends %d", e.Name, e.Note)
		}
	}
}

func TestNoWalkOut(t *testing.T) {
	for _, spoil := range []func(*engine.Program){
		func(p *engine.Program) { p.WalkOut = engine.None },
		func(p *engine.Program) { p.Notes.Controls[5] = 0 },
	} {
		p := harbour(t)
		spoil(p)
		plan := Plan(p)
		if last := plan[len(plan)-1]; last.Name != "Gull Street: chorus 1" {
			t.Errorf("ends with %+v", last)
		}
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
		last, start := Entry{At: -1, Beat: -1}, clock.Beat(0)
		for _, e := range Plan(p) {
			if e.At <= last.At || e.Beat <= last.Beat {
				r.Fatalf("%+v after %+v", e, last)
			}
			if e.Section <= 0 {
				if e.Beat%clock.Quarter != 0 {
					r.Fatalf("%s starts at %v quarters", e.Name, e.Beat.Quarters())
				}
				if last.Beat >= 0 && (e.Beat-start)%p.Songs[last.Song].Meter.Bar() != 0 {
					r.Fatalf("%s is off the bar lines before it", e.Name)
				}
				start = e.Beat
			}
			last = e
		}
		b, err := Write(p)
		if err != nil {
			r.Fatal(err)
		}
		if _, err := smf.ReadFrom(bytes.NewReader(b)); err != nil {
			r.Fatal(err)
		}
	})
}

// Bar lines in 6/8: every bar of the song is three quarters long and each beat
// 36 MIDI clocks.
func TestCompoundBars(t *testing.T) {
	p := harbour(t)
	plan := Plan(p)
	bar := plan[4].Beat - plan[3].Beat // an intro of one bar
	if bar != 3*clock.Quarter {
		t.Errorf("a bar of 6/8 is %v quarters", bar.Quarters())
	}
	if beats := p.Songs[1].Meter.Beats(); beats != 2 || bar/clock.Beat(beats)/clock.Tick != 36 {
		t.Errorf("%d beats of %d clocks", beats, bar/clock.Beat(beats)/clock.Tick)
	}
}
