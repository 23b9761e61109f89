package main

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"tactus/cmd/tactus/terminal"
	"tactus/shows"
	"tactus/shows/language"
	"tactus/shows/newrig"
)

// asker asks what hangs where, a line for an answer.
type asker struct {
	lines    func() (string, bool)
	out      io.Writer
	ownVenue bool // the hall's name is said already
}

// errNoAnswer ends the questions.
var errNoAnswer = errors.New("the answers ended; nothing was written")

// lineReader returns the lines of a reader, one a call; false at its end.
func lineReader(in io.Reader) func() (string, bool) {
	s := bufio.NewScanner(in)
	return func() (string, bool) {
		if !s.Scan() {
			return "", false
		}
		return strings.TrimSpace(s.Text()), true
	}
}

// answer prints a question and reads a line.
func (a *asker) answer(question string) (string, error) {
	fmt.Fprint(a.out, question+" ")
	text, ok := a.lines()
	if !ok {
		fmt.Fprintln(a.out)
		return "", errNoAnswer
	}
	return text, nil
}

// ask asks for the hall's name, its fixtures and, with where, where packets go.
func (a *asker) ask(venue string, where bool) (*newrig.Description, error) {
	d := &newrig.Description{Venue: venue}
	if !a.ownVenue {
		name, err := a.answer(fmt.Sprintf("Name of the hall [%s]:", terminal.Printable(venue)))
		if err != nil {
			return nil, err
		}
		if name != "" {
			d.Venue = name
		}
	}
	fmt.Fprint(a.out, "What hangs where? Answer such as: 4 rgbw on front truss\n? lists profiles and places, \"undo\" takes the last answer back, an empty line ends.\nAn empty line now leaves it to the page, which asks the same; Ctrl-C writes nothing.\n")
	var before []newrig.Description // each answer, for undo
	for {
		text, err := a.answer("What hangs:")
		if err != nil {
			return nil, err
		}
		switch text {
		case "":
			if len(d.Fixtures) > 0 {
				return d, a.askUniverses(d, where)
			}
			return d, nil // the page asks
		case "?":
			a.help()
		case "undo":
			if n := len(before); n > 0 {
				*d, before = before[n-1], before[:n-1]
				fmt.Fprintln(a.out, "  Taken back.")
			}
		default:
			was := *d
			if err := a.take(d, text, len(before)+1); err != nil {
				return nil, err
			}
			if len(d.Fixtures) > len(was.Fixtures) {
				before = append(before, was)
			}
		}
	}
}

// help lists what answers may name.
func (a *asker) help() {
	var names []string
	for _, p := range shows.BuiltInProfiles() {
		names = append(names, p.Name)
	}
	fmt.Fprintln(a.out, language.WrapList("  "+language.Listed("Profiles are", names), messageWidth))
	fmt.Fprintln(a.out, "  'tactus fixtures' has their channels. A GDTF file such as my-wash.gdtf will do too.\n  Places:")
	for _, p := range newrig.Places() {
		fmt.Fprintf(a.out, "    %-13s %s\n", p.Name, p.About)
	}
	fmt.Fprintln(a.out, "  Universe and address may follow: 4 rgbw on front truss, universe 2, address 33")
}

// take reads what hangs, asks for what is missing of it, and adds it if it is right.
func (a *asker) take(d *newrig.Description, text string, line int) error {
	more, remarks := newrig.ReadHanging(text, newrig.ListOptions{Open: openerIn(".")})
	a.tell(remarks)
	if len(newrig.FaultsOf(remarks)) > 0 || len(more.Fixtures) == 0 {
		return nil
	}
	f := &more.Fixtures[0]
	for f.Place == "" && f.At == nil && f.Profile != "hazer" {
		place, err := a.answer("  Where [front truss]:")
		if err != nil {
			return err
		}
		if place == "" {
			place = "front truss"
		}
		placed, remarks := newrig.ReadHanging(fmt.Sprintf("dimmer, %s", place), newrig.ListOptions{})
		if a.tell(newrig.FaultsOf(remarks)); len(placed.Fixtures) == 1 && placed.Fixtures[0].Place != "" {
			f.Place = placed.Fixtures[0].Place
			continue
		}
		fmt.Fprintln(a.out, "  Places are "+strings.Join(newrig.PlaceNames(), ", ")+".")
	}
	if f.Universe == "" {
		universe, err := a.answer("  Universe [the first with room]:")
		if err != nil {
			return err
		}
		f.Universe = universe
	}
	if f.Address == 0 {
		address, err := a.answer("  First address [the next that is free]:")
		if err != nil {
			return err
		}
		if address != "" {
			addressed, remarks := newrig.ReadHanging("dimmer, address "+address, newrig.ListOptions{})
			if a.tell(newrig.FaultsOf(remarks)); len(addressed.Fixtures) != 1 || addressed.Fixtures[0].Address == 0 {
				fmt.Fprintln(a.out, "  The next free address is taken; \"undo\" takes the answer back.")
			} else {
				f.Address = addressed.Fixtures[0].Address
			}
		}
	}
	trial := *d
	trial.Fixtures, trial.Profiles = slices.Clone(d.Fixtures), slices.Clone(d.Profiles)
	add(&trial, more, line)
	ok := true
	for _, r := range newrig.Check(&trial) {
		if r.Reason == newrig.NoLight || !r.Fault && r.Line != line {
			continue // lights may follow; notes of others were told
		}
		ok = ok && !r.Fault
		r.Line, r.Reason = 0, strings.ReplaceAll(r.Reason, " of line ", " of answer ")
		a.tell([]newrig.Remark{r})
	}
	if ok {
		*d = trial
	}
	return nil
}

// tell prints remarks under an answer.
func (a *asker) tell(list []newrig.Remark) {
	for _, r := range list {
		fmt.Fprintln(a.out, terminal.PrintableLines(language.WrapList("  "+r.String(), messageWidth)))
	}
}

// askUniverses asks where the packets of each universe go.
func (a *asker) askUniverses(d *newrig.Description, where bool) error {
	for i := range d.Fixtures {
		d.Fixtures[i].Line = 0
	}
	if !where {
		return nil
	}
	fmt.Fprint(a.out, "Where do packets go? \"multicast\" (sACN), addresses of gateways such as 10.0.0.7, or\nan empty line for this computer only, to try things out.\n")
	for _, label := range newrig.UniverseLabels(d) {
		for {
			text, err := a.answer(fmt.Sprintf("Universe %s [this computer only]:", terminal.Printable(label)))
			if err != nil {
				return err
			}
			u, err := newrig.ReadDestination(text)
			if err != nil {
				fmt.Fprintf(a.out, "  %v\n", err)
				continue
			}
			u.Label = label
			trial := *d
			trial.Universes = append(slices.Clone(d.Universes), u)
			faults := newrig.FaultsOf(newrig.Check(&trial))
			if len(faults) == 0 {
				*d = trial
				break
			}
			a.tell(faults)
		}
	}
	return nil
}
