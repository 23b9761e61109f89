package paper

import (
	"fmt"
	"strings"

	"tactus/clock"
	"tactus/engine"
	"tactus/engine/commands"
	"tactus/shows"
)

// setList is for the band: no light in it, but room for a pencil.
func setList(s *shows.Show, songs []int32) Leaf {
	t := Grid{Heads: []string{"", "song", "tempo", "meter", "time", "places (bars)", "notes"}, Share: []float64{.05, .20, .11, .09, .09, .27, .19}, Bold: 2}
	var whole clock.Time
	for n, i := range songs {
		song := &s.Program.Songs[i]
		length := song.TimeAt(song.Length())
		whole += length
		meter := song.Meter.String()
		if len(song.Meters) > 0 {
			meter += ", changes"
		}
		t.Rows = append(t.Rows, Line{
			Cells:  []string{fmt.Sprint(n + 1), song.Name, tempoWords(song), meter, minutes(length), places(song), ""},
			Strong: true, Energy: -1,
		})
	}
	return Leaf{Title: "Set list", Under: fmt.Sprintf("%s, %s of music as planned", count(int64(len(songs)), "song"), minutes(whole)), Tables: []Grid{t}}
}

// places is a song's form: its sections with their bars.
func places(song *engine.Song) string {
	var list []string
	for i := range song.Sections {
		c := &song.Sections[i]
		words := fmt.Sprintf("%s (%d)", c.Name, song.SectionBars(int32(i)))
		if c.Loop {
			words += " round and round"
		}
		if c.Spoken {
			words += " spoken"
		}
		list = append(list, words)
	}
	return strings.Join(list, ", ")
}

// trouble is for when something goes wrong: the notes that help.
func trouble(s *shows.Show) Leaf {
	n := &s.Program.Notes
	t := Grid{Heads: []string{"note", "what it does"}, Share: []float64{.22, .78}}
	for _, r := range commands.ByNote() {
		switch r.Kind() {
		case engine.Hold, engine.Release, engine.Blackout, engine.Restore, engine.WorkLight, engine.WorkLightOff,
			engine.HouseUp, engine.ShowWalkIn, engine.ShowTalk, engine.NextSong, engine.RestartSong, engine.NextSection:
		default:
			continue
		}
		note := "no note; page or OSC"
		for i, kind := range n.Controls {
			if kind == r.Kind() {
				note = noteWords(uint8(i))
				break
			}
		}
		t.Rows = append(t.Rows, Line{Cells: []string{note, r.Summary()}, Energy: -1})
	}
	channel := "any channel"
	if n.Control != 0 {
		channel = fmt.Sprintf("channel %d", n.Control)
	}
	return Leaf{
		Title: "If something goes wrong", Under: "notes on " + channel + "; middle C, note 60, is C4",
		Words: []string{
			"Someone is hurt, or it is too dark to move safely: house lights and work light first, music second. Know where the hall's own switches are; they need no computer.",
			"The clock stops: the light stays and goes on when the clock does. Hold keeps it as it is; next section moves it on by hand.",
			"The light is wrong: hold, enter the right section by its note (see the song's sheet), release.",
			"Too much flashing or haze: blackout, or work light; then tell the front of house.",
			"On exit the light does this: " + s.Outputs.Exit.Rule.String() + ". What receivers do when nothing comes any more is set in them: try it before doors.",
		},
		Tables: []Grid{t},
		After:  []string{"Who to call. Hall: ______________________   Electrician: ______________________", "First aid: ______________________   Front of house: ______________________"},
	}
}

func patchSheet(s *shows.Show) Leaf {
	t := Grid{Heads: []string{"done", "universe", "address", "switches on", "fixture", "profile", "slots"}, Share: []float64{.08, .14, .11, .16, .20, .22, .09}}
	for _, r := range Rows(s) {
		t.Rows = append(t.Rows, Line{
			Cells:  []string{"[  ]", r.Universe, fmt.Sprint(r.First), dip(r.First), r.Name, r.Profile, fmt.Sprint(r.Last - r.First + 1)},
			Energy: -1,
		})
	}
	return Leaf{Title: "Patch", Under: count(int64(len(t.Rows)), "fixture"), Tables: []Grid{t}, After: []string{dipHelp, rigging}}
}

func powerSheet(s *shows.Show) Leaf {
	circuits, night := Sums(s)
	night.Name = "all"
	volts := s.Power.Volts
	t := Grid{Heads: []string{"circuit", "fixtures", "all full", "planned worst", "may carry", ""}, Share: []float64{.18, .10, .20, .20, .19, .13}, Bold: 6}
	load := func(watts float64) string {
		if volts == 0 {
			return fmt.Sprintf("%.0f W", watts)
		}
		return fmt.Sprintf("%.0f W, %.1f A", watts, Amps(watts, volts))
	}
	for _, c := range append(circuits, night) {
		if c.Fixtures == 0 && c.Breaker == 0 {
			continue
		}
		carry, mark := "not said", ""
		if c.Breaker > 0 {
			carry = fmt.Sprintf("%.1f A of %g A", float64(c.Breaker*Continuous), c.Breaker)
		}
		if c.Over(volts) {
			mark = "TOO MUCH"
		}
		t.Rows = append(t.Rows, Line{Cells: []string{c.Name, fmt.Sprint(c.Fixtures), load(c.Full), load(c.Worst), carry, mark}, Strong: mark != "" || c.Name == "all", Energy: -1})
	}
	sheet := Leaf{Title: "Power", Tables: []Grid{t}, After: []string{
		"\"may carry\" is 80 % of the breaker: three hours or more count as continuous (NEC 210.20(A) and 215.3, from memory; your local code decides).",
		strings.ReplaceAll(caution, "\n", " "),
	}}
	if volts > 0 {
		sheet.Under = fmt.Sprintf("at %g V", volts)
	}
	if night.Unknown > 0 {
		sheet.Words = []string{fmt.Sprintf("%s no watts are given for; they count as nothing.", count(int64(night.Unknown), "fixture"))}
	}
	return sheet
}
