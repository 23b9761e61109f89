package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"strings"

	"github.com/spf13/cobra"

	"tactus/cmd/tactus/terminal"
	"tactus/cmd/tactus/usage"
	"tactus/fixtures/gdtf"
)

func newFixture() *cobra.Command {
	return newGroup("fixture", "Make profiles of fixture files",
		`Work with fixture types. A profile says what the channels of a fixture mean.`,
		`  tactus fixture import my-wash.gdtf                 list its modes
  tactus fixture import my-wash.gdtf --mode "16 bit"`, newFixtureImport())
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
		Example: `  tactus fixture import my-wash.gdtf
  tactus fixture import my-wash.gdtf --mode "16 bit" --out my-hall/profiles/my-wash.yaml
  tactus fixture import my-bar.gdtf --mode pixels --break 2`,
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
