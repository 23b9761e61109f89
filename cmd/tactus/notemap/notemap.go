package notemap

import (
	"fmt"
	"io"
	"slices"
	"text/tabwriter"

	"tactus/clock"
	"tactus/engine"
	"tactus/engine/commands"
)

// Print prints what a compiled show takes by MIDI and OSC: channels, notes,
// controllers, each song's program and sections, and addresses.
func Print(out io.Writer, p *engine.Program) {
	n := &p.Notes
	fmt.Fprintf(out, "%s: notes\n\nChannels\n", p.Name)
	w := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	channel := func(c uint8, words string) {
		if c != 0 {
			fmt.Fprintf(w, "  %d\t%s\n", c, words)
		}
	}
	channel(n.Fire, "a section's note enters it now")
	for when, c := range n.Arm {
		channel(c, fmt.Sprintf("a section's note arms it for the next %s", boundary(engine.When(when))))
	}
	channel(n.Control, "the notes below and program changes")
	w.Flush()
	fmt.Fprintf(out, "\nOther notes, on %s\n", channelName(n.Control))
	for _, r := range commands.ByNote() {
		if i := noteOf(n, &r); i >= 0 {
			fmt.Fprintf(w, "  %s\t%d\t%s\n", noteName(uint8(i)), i, r.Summary())
		}
	}
	w.Flush()
	printFaders(out, w, p)
	for i, s := range songOrder(p) {
		printSongNotes(out, w, i, &p.Songs[s])
	}
	printAddresses(out, w)
}

// noteOf returns the note that gives a command in a show, or -1.
func noteOf(n *engine.Notes, r *commands.Row) int {
	note := slices.Index(n.Controls[:], r.Kind())
	switch r.Event {
	case clock.Tap:
		note = int(n.Tap)
	case clock.Halve:
		note = int(n.Halve)
	case clock.Double:
		note = int(n.Double)
	}
	if note > 127 {
		return -1
	}
	return note
}

// printFaders lists the controllers that move masters, if any do.
func printFaders(out io.Writer, w *tabwriter.Writer, p *engine.Program) {
	n := &p.Notes
	if !slices.ContainsFunc(n.Faders[:], func(i int32) bool { return i != engine.None }) {
		return
	}
	fmt.Fprintf(out, "\nControllers, on %s\n", channelName(n.Control))
	for controller, i := range n.Faders {
		switch {
		case i == engine.AllFader:
			fmt.Fprintf(w, "  %d\tthe grand master\n", controller)
		case i >= 0 && int(i) < len(p.Groups):
			fmt.Fprintf(w, "  %d\tthe master of %q\n", controller, p.Groups[i].Name)
		}
	}
	w.Flush()
}

func printAddresses(out io.Writer, w *tabwriter.Writer) {
	fmt.Fprintf(out, "\nOSC, with --osc-listen\n")
	for _, a := range commands.Addresses() {
		with := ""
		if args := a.DescribeArgs(); args != "" {
			with = " (" + args + ")"
		}
		fmt.Fprintf(w, "  %s\t%s%s\n", commands.OSC+a.Path, a.Description(), with)
	}
	w.Flush()
}

func printSongNotes(out io.Writer, w *tabwriter.Writer, i int, song *engine.Song) {
	fmt.Fprintf(out, "\n%d. %s, %s, %.4g BPM", i+1, song.Name, song.Meter, song.Meter.PerBeat(song.Tempo).BPM())
	if song.Program >= 0 {
		fmt.Fprintf(out, ": program %d (sent as %d)", song.Program+1, song.Program)
	}
	fmt.Fprintln(out)
	first := int64(1)
	for i, s := range song.Sections {
		note, number := "-", "-"
		if s.Note <= 127 {
			note, number = noteName(s.Note), fmt.Sprint(s.Note)
		}
		bars := song.SectionBars(int32(i))
		fmt.Fprintf(w, "  %s\t%s\t%s\tbar %d, %d bars, energy %d%s\n",
			note, number, s.Name, first, bars, s.Energy, changesIn(song, &song.Sections[i]))
		first += bars
	}
	w.Flush()
}

// changesIn says which meters and tempos begin in a section, such as
// ", 3/4, bar 5 beat 1 at 96 BPM".
func changesIn(song *engine.Song, s *engine.Section) (words string) {
	where := func(at clock.Beat) string {
		if at == s.Start {
			return ""
		}
		bar, start, m := song.BarAt(at)
		return fmt.Sprintf("bar %d beat %d ", bar+1, (at-start)/m.Beat()+1)
	}
	for _, c := range song.Meters {
		if c.At >= s.Start && c.At < s.Start+s.Length {
			words += ", " + where(c.At) + "in " + c.Meter.String()
		}
	}
	for _, c := range song.Tempos {
		if c.At >= s.Start && c.At < s.Start+s.Length {
			words += fmt.Sprintf(", %sat %.4g BPM", where(c.At), song.MeterAt(c.At).PerBeat(c.Tempo).BPM())
		}
	}
	return words
}

// songOrder returns the songs of the set list, then the rest.
func songOrder(p *engine.Program) []int32 {
	order := slices.Clone(p.SetList)
	for i := range p.Songs {
		if !slices.Contains(order, int32(i)) {
			order = append(order, int32(i))
		}
	}
	return order
}

func boundary(w engine.When) string {
	if w == engine.SectionEnd {
		return "end of the section"
	}
	return w.String()
}

func channelName(c uint8) string {
	if c == 0 {
		return "any channel"
	}
	return fmt.Sprintf("channel %d", c)
}

// noteName names a MIDI note with middle C, note 60, as C4.
func noteName(n uint8) string {
	names := [...]string{"C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B"}
	return fmt.Sprintf("%s%d", names[n%12], int(n/12)-1)
}
