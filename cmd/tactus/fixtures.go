package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"tactus/cmd/tactus/profilelist"
	"tactus/cmd/tactus/showfiles"
	"tactus/cmd/tactus/terminal"
	"tactus/cmd/tactus/usage"
	"tactus/fixtures/gdtf"
	"tactus/shows"
	"tactus/shows/language"
)

func newFixtures() *cobra.Command {
	var asJSON bool
	c := &cobra.Command{
		Use:     "fixtures [SHOW] [PROFILE]",
		Aliases: []string{"fixture"},
		Short:   "List fixture profiles with their channels, or make one of a GDTF file",
		Long: `List the fixture profiles that are built in, with the count of slots, the emitters,
the power if it is known, and the channels in the order of the slots: the profile
whose channels are those of your fixture's manual is the one to patch. With a show,
those of its rig.yaml and of its folder profiles come first.

PROFILE prints one of them, with what each slot does. A folder that has the name of
a built-in profile goes with a path, such as ./dimmer.`,
		Example: `  tactus fixtures                          all that are built in
  tactus fixtures my-hall                  those of a show, too
  tactus fixtures head-rgbw                one, with each of its slots
  tactus fixtures my-hall "hall wash" --json
  tactus fixtures import my-wash.gdtf      list the modes of a GDTF file
  tactus fixtures import my-wash.gdtf --mode "16 bit"`,
		Args: cobra.MaximumNArgs(2),
		RunE: func(c *cobra.Command, args []string) error {
			return listFixtures(args, asJSON, c.OutOrStdout(), c.ErrOrStderr())
		},
	}
	c.Flags().BoolVar(&asJSON, "json", false, "print JSON")
	c.AddCommand(newFixtureImport())
	return c
}

// listFixtures prints the profiles of a show or those built in, or one of them.
func listFixtures(args []string, asJSON bool, out, errOut io.Writer) error {
	list := shows.BuiltInProfiles()
	name := ""
	switch len(args) {
	case 1:
		if profileNamed(list, args[0]) != nil {
			name = args[0]
			break
		}
		if _, err := os.Stat(args[0]); err != nil && args[0] != showfiles.Demo {
			return fmt.Errorf("no folder %q, and %w", args[0], noProfile(list, args[0]))
		}
		fallthrough
	case 2:
		var err error
		if list, err = profilesOf(args[0], errOut); err != nil {
			return err
		}
		if len(args) == 2 {
			name = args[1]
		}
	}
	if name == "" {
		if !asJSON {
			profilelist.Print(out, list)
			return nil
		}
		all := make([]*profilelist.Description, len(list))
		for i := range list {
			all[i] = profilelist.Describe(&list[i])
		}
		return writeJSON(out, all)
	}
	p := profileNamed(list, name)
	switch {
	case p == nil:
		return noProfile(list, name)
	case asJSON:
		return writeJSON(out, profilelist.Describe(p))
	}
	profilelist.PrintOne(out, p)
	return nil
}

// profilesOf returns the profiles that a show's rig can use. Its looks, songs and sets
// do not matter.
func profilesOf(name string, errOut io.Writer) ([]shows.Profile, error) {
	files, err := showfiles.Open(name)
	if err != nil {
		return nil, err
	}
	show, problems := shows.Load(files, shows.Options{RigOnly: true})
	if len(problems) > 0 {
		printProblems(errOut, problems)
		return nil, errShown
	}
	return show.Profiles, nil
}

func profileNamed(list []shows.Profile, name string) *shows.Profile {
	if i := slices.IndexFunc(list, func(p shows.Profile) bool { return p.Name == name }); i >= 0 {
		return &list[i]
	}
	return nil
}

// noProfile is the error of a name that is no profile, with those that are.
func noProfile(list []shows.Profile, name string) error {
	names := make([]string, len(list))
	for i := range list {
		names[i] = list[i].Name
	}
	return usage.Errorf("no profile %q%s; %s", name, didYouMean(name, names), language.Listed("profiles are", names))
}

type importFlags struct {
	mode, out string
	number    int // break
	force     bool
}

func newFixtureImport() *cobra.Command {
	var f importFlags
	c := &cobra.Command{
		Use:   "import FILE.gdtf",
		Short: "Make a profile of a mode of a GDTF file",
		Long: `Read a fixture type in the open GDTF format (DIN SPEC 15800) and print a profile
of one of its modes. Written into the folder profiles of a show it can be used
in the rig by its file name. What cannot be used is listed on the error stream.
Compare the channels with the fixture's manual.

Without --mode a file with one mode is imported, and of others the modes are
listed. Fixtures that can do harm (lasers, flame, moved loads) are refused.`,
		Example: `  tactus fixtures import my-wash.gdtf
  tactus fixtures import my-wash.gdtf --mode "16 bit" --out my-hall/profiles/my-wash.yaml
  tactus fixtures import my-bar.gdtf --mode pixels --break 2`,
		RunE: func(c *cobra.Command, args []string) error {
			return importFixture(args[0], &f, c.OutOrStdout(), c.ErrOrStderr())
		},
	}
	c.Flags().StringVar(&f.mode, "mode", "", "which mode, by name")
	c.Flags().StringVar(&f.out, "out", "", "write the profile to this file (default: print it)")
	c.Flags().IntVar(&f.number, "break", 0, "which start address, of a mode with several")
	c.Flags().BoolVar(&f.force, "force", false, "write over a file that exists")
	return c
}

func importFixture(name string, f *importFlags, out, errOut io.Writer) error {
	fixture, err := readFixture(name)
	if err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	for _, w := range fixture.Warnings {
		fmt.Fprintf(errOut, "note: %s\n", terminal.Printable(w))
	}
	mode, err := chooseMode(fixture, f.mode)
	if err != nil {
		return err
	}
	drafts, err := mode.Drafts()
	if err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	draft, err := chooseBreak(drafts, f.number)
	if err != nil {
		return err
	}
	for _, l := range draft.LeftOut {
		fmt.Fprintf(errOut, "not used: %s\n", terminal.Printable(l))
	}
	return deliverFile(out, f.out, draft.AppendTo(nil), f.force, ": %d slots. Compare it with the fixture's manual.", len(draft.Channels))
}

func readFixture(name string) (*gdtf.Fixture, error) {
	info, err := os.Stat(name)
	if err != nil {
		return nil, errors.Unwrap(err)
	}
	if !info.Mode().IsRegular() {
		return nil, errors.New("not a plain file")
	}
	file, err := os.Open(name)
	if err != nil {
		return nil, errors.Unwrap(err)
	}
	defer file.Close()
	xml, warnings, err := gdtf.ReadDescription(file, info.Size())
	if err != nil {
		return nil, err
	}
	var f gdtf.Fixture
	if err := f.Parse(xml); err != nil {
		return nil, err
	}
	f.Warnings = append(warnings, f.Warnings...)
	return &f, nil
}

func chooseMode(f *gdtf.Fixture, name string) (*gdtf.Mode, error) {
	if name == "" && len(f.Modes) == 1 {
		return &f.Modes[0], nil
	}
	var list strings.Builder
	for i := range f.Modes {
		m := &f.Modes[i]
		if name != "" && strings.EqualFold(m.Name, name) {
			return m, nil
		}
		_, slots := m.Footprint()
		fmt.Fprintf(&list, "\n  %q, %s slots", terminal.Printable(m.Name), strings.Trim(strings.Join(strings.Fields(fmt.Sprint(slots)), " and "), "[]"))
		if m.Hazard != "" {
			list.WriteString(", refused: it can do harm")
		}
	}
	if name == "" {
		return nil, usage.Errorf("--mode is missing; %s has these:%s", terminal.Printable(f.Name), list.String())
	}
	return nil, usage.Errorf("no mode %q; %s has these:%s", name, terminal.Printable(f.Name), list.String())
}

func chooseBreak(drafts []gdtf.Draft, number int) (*gdtf.Draft, error) {
	if number == 0 && len(drafts) == 1 {
		return &drafts[0], nil
	}
	var list []string
	for i := range drafts {
		if drafts[i].Break == number {
			return &drafts[i], nil
		}
		list = append(list, fmt.Sprintf("%d (%d slots)", drafts[i].Break, len(drafts[i].Channels)))
	}
	if len(drafts) == 0 {
		return nil, errors.New("the mode has no slots")
	}
	return nil, usage.Errorf("--break: this mode has a start address each for: %s; import them one by one", strings.Join(list, ", "))
}
