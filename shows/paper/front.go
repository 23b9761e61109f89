package paper

import (
	"fmt"
	"strings"

	"tactus/engine"
	"tactus/engine/commands"
	"tactus/shows"
	"tactus/shows/language"
)

// nbsp is a no-break space, for words that belong on one line.
const nbsp = "\u00a0"

// setList returns the band's set list: no lighting, large type to read from the stage
// floor, and room for pencil notes. A second table has the form of each song.
func setList(s *shows.Show, songs []int32) Leaf {
	list := Grid{Heads: []string{"", "song", "tempo", "meter", "time", "notes"}, Share: []float64{.07, .41, .19, .10, .10, .13}, Bold: 2, Scale: 1.6}
	form := Grid{Name: "Form", Heads: []string{"", "song", "sections (bars)"}, Share: []float64{.05, .29, .66}, Bold: 2}
	for n, i := range songs {
		song := &s.Program.Songs[i]
		number := fmt.Sprint(n + 1)
		tempo := strings.ReplaceAll(tempoWords(song), " BPM", nbsp+"BPM")
		list.Rows = append(list.Rows, Line{
			Cells:  []string{number, song.Name, tempo, song.Meter.String(), language.Minutes(s.Length([]int32{i})), ""},
			Strong: true, Energy: -1,
		})
		form.Rows = append(form.Rows, Line{Cells: []string{number, song.Name, sections(song)}, Strong: true, Energy: -1})
	}
	return Leaf{Title: "Set list", Under: fmt.Sprintf("%s, %s of music as planned", language.Count(len(songs), "song"), language.Minutes(s.Length(songs))), Tables: []Grid{list, form}}
}

// sections prints a song's form: each section with its number of bars, and whether the
// meter changes. A section stays on one line if it fits.
func sections(song *engine.Song) string {
	var list []string
	for i := range song.Sections {
		c := &song.Sections[i]
		words := fmt.Sprintf("%s (%d)", c.Name, song.SectionBars(int32(i)))
		if c.Loop {
			words += " loop"
		}
		if c.Spoken {
			words += " spoken"
		}
		list = append(list, strings.ReplaceAll(words, " ", nbsp))
	}
	if len(song.Meters) > 0 {
		list = append(list, "meter"+nbsp+"changes")
	}
	return strings.Join(list, ", ")
}

// trouble returns the emergency sheet for a volunteer with a tablet: the page's address,
// then advice, then a table of buttons with their keys and notes.
func trouble(s *shows.Show, o *Options) Leaf {
	n := &s.Program.Notes
	channel := "any channel"
	if n.Control != 0 {
		channel = fmt.Sprintf("channel %d", n.Control)
	}
	words := []string{
		pageAddress(o),
		"Someone is hurt, or it is too dark to move safely: tap Work light. It puts house and work light full, over everything. Know where the hall's own switches are; they need no computer.",
		"The light is wrong: tap Hold. Tap the right section twice. Then tap Release, where Hold was.",
		"Too much flashing: tap Blackout twice, or Work light; then tell the front of house.",
	}
	if hasHaze(s) {
		words = append(words, "Too much haze: switch the hazer off at its own switch and air the room. Blackout may leave it running.")
	}
	words = append(words,
		"The music's clock stops: the light stays, and continues when the clock does. To move on before that, tap Next section.",
		"The page is lost: the light continues without it. Load the page again, use the laptop itself, or play the notes below.",
		"When the program ends, the light does this: "+s.Outputs.Exit.Rule.String()+". What receivers do when packets stop is a setting of each receiver: try it before doors.",
	)
	return Leaf{
		Title: "If something goes wrong", Under: "the page's buttons first, then its keys, then notes on " + channel + " (middle C, note 60, is C4)",
		Words: words, Tables: []Grid{troubleTable(n)},
		After: []string{"Who to call. Hall: ______________________   Electrician: ______________________", "First aid: ______________________   Front of house: ______________________"},
	}
}

// pageAddress prints the address of the page, without the "http://" that browsers add.
func pageAddress(o *Options) string {
	words := "The page. Type into the tablet's browser: "
	if o.Page == "" {
		words += "______________________________ (write it here before doors)."
	} else {
		words += o.Page + "."
	}
	if o.Usual != "" && o.Page != o.Usual {
		words += " On the laptop itself it is usually " + o.Usual + "."
	}
	return words + " It may ask for the passphrase of control. Who knows it: ______________________"
}

// troubleTable lists the commands that help, the most urgent first.
func troubleTable(n *engine.Notes) Grid {
	t := Grid{Heads: []string{"button on the page", "key", "note", "what it does"}, Share: []float64{.28, .07, .16, .49}, Bold: 1}
	for _, kind := range []engine.CommandKind{
		engine.WorkLight, engine.WorkLightOff, engine.Hold, engine.Release, engine.Blackout, engine.Restore, engine.HouseUp,
		engine.NextSection, engine.ShowTalk, engine.ShowWalkIn, engine.NextSong, engine.RestartSong,
	} {
		r, known := commands.Lookup(kind)
		if !known {
			continue
		}
		label, key := buttonOf(&r)
		note := "none"
		for i, k := range n.Controls {
			if k == kind {
				note = strings.ReplaceAll(noteWords(uint8(i)), " ", nbsp)
				break
			}
		}
		t.Rows = append(t.Rows, Line{Cells: []string{label, key, note, r.Summary()}, Strong: true, Energy: -1})
	}
	return t
}

// buttonOf returns the label of a command's button on the page, with how to press it,
// and its key.
func buttonOf(r *commands.Row) (label, key string) {
	b := r.Button
	switch {
	case b.Label == "":
		return "none; tap the song twice", ""
	case b.Group == "house":
		return "House lights: " + b.Label, b.Key
	case b.NeedsSecondTap:
		return b.Label + ", twice", b.Key
	case b.Group != "":
		return b.Label, b.Key
	}
	for _, on := range commands.Table() { // find the command that this one undoes
		if on.Button.Undo == r.Kind() {
			return b.Label + ", where " + on.Button.Label + " was", on.Button.Key
		}
	}
	return b.Label, b.Key
}

func patchSheet(s *shows.Show) Leaf {
	t := Grid{Heads: []string{"done", "universe", "address", "switches on", "fixture", "profile", "slots"}, Share: []float64{.07, .25, .09, .15, .17, .19, .08}}
	for _, r := range PatchRows(s) {
		t.Rows = append(t.Rows, Line{
			Cells:  []string{"[  ]", r.Universe + " (" + r.Wire + ")", fmt.Sprint(r.First), dipSwitches(r.First), r.Name, r.Profile, fmt.Sprint(r.Last - r.First + 1)},
			Energy: -1,
		})
	}
	return Leaf{Title: "Patch", Under: language.Count(len(t.Rows), "fixture"), Tables: []Grid{t}, After: []string{dipHelp, rigging}}
}
