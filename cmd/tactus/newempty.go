package main

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"github.com/spf13/cobra"
	"golang.org/x/term"

	"tactus/cmd/tactus/terminal"
	"tactus/cmd/tactus/usage"
	"tactus/fixtures/gdtf"
	"tactus/shows/language"
	"tactus/shows/newrig"
)

// emptyFlags are the flags of new --empty.
type emptyFlags struct {
	venue, list string
	hang, to    []string
	skip        bool
}

// add adds the flags to a command.
func (f *emptyFlags) add(c *cobra.Command) {
	flags := c.Flags()
	flags.StringVar(&f.venue, "venue", "", "with --empty: name of the hall (default: the folder's)")
	flags.StringVar(&f.list, "list", "", "with --empty: read what hangs where from this file; - is standard input")
	flags.StringArrayVar(&f.hang, "hang", nil, `with --empty: what hangs where, such as "4 rgbw on front truss"`)
	flags.StringArrayVar(&f.to, "to", nil, "with --empty: multicast, IPv4 addresses, or UNIVERSE=these (default: this computer only)")
	flags.BoolVar(&f.skip, "skip", false, "with --list: leave out lines that are not understood")
	c.MarkFlagsMutuallyExclusive("list", "hang")
}

// newEmpty makes a show folder for a rig that flags, a list or answers describe.
func newEmpty(folder string, f *emptyFlags, in io.Reader, out, errOut io.Writer) error {
	if f.skip && len(f.hang) > 0 {
		return usage.Errorf("--skip goes with --list")
	}
	to, err := destinationsOf(f.to)
	if err != nil {
		return err
	}
	if err := hasRoom(folder); err != nil {
		return err
	}
	venue := f.venue
	if venue == "" {
		venue = venueOf(folder)
	}
	file, isFile := in.(*os.File)
	var d *newrig.Description
	switch {
	case len(f.hang) > 0:
		d, err = hung(f.hang, errOut)
	case f.list != "" || !isFile || !term.IsTerminal(int(file.Fd())):
		d, err = listed(f, in, errOut)
	default:
		a := asker{lines: lineReader(in), out: out, ownVenue: f.venue != ""}
		d, err = a.ask(venue, len(to) == 0)
	}
	if err != nil {
		return err
	}
	if d.Venue == "" {
		d.Venue = venue
	}
	if len(d.Fixtures) == 0 && len(d.Profiles) == 0 {
		return makeUndecided(folder, d.Venue, out)
	}
	if len(to) > 0 {
		if d.Universes, err = to.universes(d); err != nil {
			return err
		}
	}
	return makeShow(folder, d, out, errOut)
}

// makeUndecided writes a show of which nobody has said what hangs there, for the page to ask.
func makeUndecided(folder, venue string, out io.Writer) error {
	m, err := newrig.Undecided(venue)
	if err != nil {
		return err
	}
	if err := copyOut(m.FS(), folder); err != nil {
		return err
	}
	fmt.Fprintf(out, "Made %s. Nobody has said yet what hangs there.\n", folder)
	fmt.Fprintf(out, "Next: 'tactus rehearse %s', open the page that it names, and say it there: Compose, Rig.\n", folder)
	return nil
}

// makeShow writes the show of a description, and prints what was assumed.
func makeShow(folder string, d *newrig.Description, out, errOut io.Writer) error {
	m, err := newrig.Make(d)
	var faults newrig.Faults
	if errors.As(err, &faults) {
		printRemarks(errOut, faults)
		return fmt.Errorf("%s; nothing was written", language.Count(len(faults), "fault"))
	}
	if err != nil {
		return err
	}
	printRemarks(errOut, m.Remarks)
	if err := copyOut(m.FS(), folder); err != nil {
		return err
	}
	p := m.Show.Program
	fmt.Fprintf(out, "Made %s: %s on %s, %s by energy, and a first song with its light.\n", folder,
		language.Count(len(p.Patch.Placements()), "fixture"), language.Count(len(p.Universes), "universe"), language.Count(len(m.Show.Ladder.Rungs), "look"))
	fmt.Fprintf(out, "Next: 'tactus rehearse %s', then put songs of your own in its folder songs.\n", folder)
	return nil
}

func printRemarks(w io.Writer, list []newrig.Remark) {
	for _, r := range list {
		kind := "note"
		if r.Fault {
			kind = "not understood"
		}
		fmt.Fprintf(w, "%s: %s\n", kind, terminal.Printable(r.String()))
	}
}

// venueOf makes a name of a hall from the name of its folder: "my-hall" is My Hall.
func venueOf(folder string) string {
	words := strings.FieldsFunc(filepath.Base(filepath.Clean(folder)), func(r rune) bool { return strings.ContainsRune(" -_.", r) })
	for i, w := range words {
		letters := []rune(w)
		letters[0] = unicode.ToUpper(letters[0])
		words[i] = string(letters)
	}
	return strings.Join(words, " ")
}

// hung reads the answers that flags give.
func hung(answers []string, errOut io.Writer) (*newrig.Description, error) {
	all := &newrig.Description{}
	var faults []newrig.Remark
	for i, text := range answers {
		d, remarks := newrig.ReadHanging(text, newrig.ListOptions{Open: openerIn(".")})
		for k := range remarks {
			remarks[k].Line = 0
			remarks[k].What = fmt.Sprintf("--hang %q: %s", text, remarks[k].What)
		}
		printRemarks(errOut, remarks)
		faults = append(faults, newrig.FaultsOf(remarks)...)
		add(all, d, i+1)
	}
	if len(faults) > 0 {
		return nil, fmt.Errorf("%s; nothing was written", language.Count(len(faults), "fault"))
	}
	for i := range all.Fixtures {
		all.Fixtures[i].Line = 0
	}
	return all, nil
}

// add puts the fixtures and profiles of one description behind those of another. line
// tells its rows from others in remarks.
func add(all, d *newrig.Description, line int) {
	for _, f := range d.Fixtures {
		f.Line = line
		all.Fixtures = append(all.Fixtures, f)
	}
	for _, p := range d.Profiles {
		if !slices.ContainsFunc(all.Profiles, func(o newrig.Profile) bool { return o.Name == p.Name }) {
			all.Profiles = append(all.Profiles, p)
		}
	}
}

// listed reads a list from a file or from standard input.
func listed(f *emptyFlags, in io.Reader, errOut io.Writer) (*newrig.Description, error) {
	folder := "."
	if f.list != "" && f.list != "-" {
		file, err := os.Open(f.list)
		if err != nil {
			return nil, err
		}
		defer file.Close()
		in, folder = file, filepath.Dir(f.list)
	}
	src, err := io.ReadAll(io.LimitReader(in, newrig.MaxList+1))
	if err != nil {
		return nil, err
	}
	if f.list == "" && len(bytes.TrimSpace(src)) == 0 {
		return &newrig.Description{}, nil // nobody answers: the page asks
	}
	d, remarks := newrig.ReadList(src, newrig.ListOptions{Open: openerIn(folder)})
	printRemarks(errOut, remarks)
	if faults := newrig.FaultsOf(remarks); len(faults) > 0 && (!f.skip || len(d.Fixtures) == 0) {
		hint := ""
		if len(d.Fixtures) > 0 {
			hint = "; mend them, or leave them out with --skip"
		}
		return nil, fmt.Errorf("%s of the list not understood, %s understood; nothing was written%s", language.Count(len(faults), "line"), language.Count(len(d.Fixtures), "line"), hint)
	}
	return d, nil
}

// channelsSay matches a mode that is a count of channels.
var channelsSay = regexp.MustCompile(`^([0-9]{1,3})\s*-?\s*(?:ch|chan|channels?|slots?)?$`)

// openerIn makes profiles of the GDTF files that lists name, in a folder.
func openerIn(folder string) func(file, mode string) (newrig.Profile, error) {
	return func(file, mode string) (newrig.Profile, error) {
		fixture, err := readFixture(filepath.Join(folder, file))
		if err != nil {
			return newrig.Profile{}, err
		}
		chosen, err := chooseMode(fixture, mode)
		if m := channelsSay.FindStringSubmatch(strings.ToLower(mode)); err != nil && m != nil {
			chosen, err = modeWithSlots(fixture, m[1], err)
		}
		if err != nil {
			return newrig.Profile{}, oneLine(err)
		}
		drafts, err := chosen.Drafts()
		if err != nil {
			return newrig.Profile{}, oneLine(err)
		}
		draft, err := chooseBreak(drafts, 0)
		if err != nil {
			return newrig.Profile{}, errors.New("this mode has several start addresses; 'tactus fixtures import' makes a profile of each")
		}
		return newrig.Profile{Name: draft.Name, Text: string(draft.AppendTo(nil))}, nil
	}
}

// modeWithSlots returns the only mode with so many slots.
func modeWithSlots(f *gdtf.Fixture, slots string, otherwise error) (found *gdtf.Mode, err error) {
	for i := range f.Modes {
		if _, have := f.Modes[i].Footprint(); len(have) != 1 || strconv.Itoa(have[0]) != slots {
			continue
		}
		if found != nil {
			return nil, otherwise
		}
		found = &f.Modes[i]
	}
	if found == nil {
		return nil, otherwise
	}
	return found, nil
}

// oneLine puts the lines of an error into one.
func oneLine(err error) error {
	return errors.New(strings.Join(strings.Fields(strings.ReplaceAll(err.Error(), "--mode is missing", "no mode is said")), " "))
}

// destinations say where universes go: by label, "" for all others.
type destinations map[string]newrig.Universe

// destinationsOf reads --to.
func destinationsOf(flags []string) (destinations, error) {
	to := destinations{}
	for _, text := range flags {
		label, where, one := strings.Cut(text, "=")
		if !one {
			label, where = "", text
		}
		u, err := newrig.ReadDestination(where)
		if err != nil {
			return nil, usage.Errorf("--to %s: %v", text, err)
		}
		u.Label = strings.ToLower(strings.TrimSpace(label))
		to[u.Label] = u
	}
	return to, nil
}

// universes returns the universes of a description with where they go.
func (to destinations) universes(d *newrig.Description) ([]newrig.Universe, error) {
	var list []newrig.Universe
	labels := newrig.UniverseLabels(d)
	for label := range to {
		if label != "" && len(labels) > 0 && !slices.Contains(labels, label) {
			return nil, usage.Errorf("--to: there is no universe %q; %s", label, language.Listed("universes are", labels))
		}
	}
	for _, label := range labels {
		u, ok := to[label]
		if !ok {
			u = to[""]
		}
		u.Label = label
		list = append(list, u)
	}
	return list, nil
}
