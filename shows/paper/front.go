package paper

import (
	"fmt"
	"strings"

	"tactus/engine"
	"tactus/engine/commands"
	"tactus/shows"
	"tactus/shows/language"
)

// setList is for the band: no light in it, but room for a pencil.
func setList(s *shows.Show, songs []int32) Leaf {
	t := Grid{Heads: []string{"", "song", "tempo", "meter", "time", "places (bars)", "notes"}, Share: []float64{.05, .20, .11, .09, .09, .27, .19}, Bold: 2}
	for n, i := range songs {
		song := &s.Program.Songs[i]
		meter := song.Meter.String()
		if len(song.Meters) > 0 {
			meter += ", changes"
		}
		t.Rows = append(t.Rows, Line{
			Cells:  []string{fmt.Sprint(n + 1), song.Name, tempoWords(song), meter, language.Minutes(s.Length([]int32{i})), places(song), ""},
			Strong: true, Energy: -1,
		})
	}
	return Leaf{Title: "Set list", Under: fmt.Sprintf("%s, %s of music as planned", language.Count(len(songs), "song"), language.Minutes(s.Length(songs))), Tables: []Grid{t}}
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
	return Leaf{Title: "Patch", Under: language.Count(len(t.Rows), "fixture"), Tables: []Grid{t}, After: []string{dipHelp, rigging}}
}
