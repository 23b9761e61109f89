package main

import (
	"bytes"
	"errors"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"tactus/cmd/tactus/showfiles"
	"tactus/cmd/tactus/usage"
	"tactus/shows"
	"tactus/shows/compose"
	"tactus/shows/language"
	"tactus/shows/paper"
)

type patchFlags struct {
	set                       string
	free, write               bool
	sheet, html, power, force bool
	out                       string
}

func newPatch() *cobra.Command {
	var f patchFlags
	c := &cobra.Command{
		Use:   "patch SHOW",
		Short: "Print the patch, free addresses, a sheet for the crew, and the power drawn",
		Long: `Print which fixture has which slots, and where slots are free. Mistakes in the
patch, such as two fixtures on one slot, are faults of the show: all of them are
printed at once.

--free proposes addresses for fixtures that have none yet; --write puts them into
rig.yaml and leaves everything else in it, comments too, as it is.

--sheet is for paper: addresses with the settings of nine address switches, as
old fixtures have them. --power adds up watts and circuits of the rig file.
CAUTION: mains distribution is for qualified people under local code.`,
		Example: `  tactus patch my-hall
  tactus patch my-hall --free
  tactus patch my-hall --free --write
  tactus patch my-hall --sheet --html --out patch.html
  tactus patch my-hall --power`,
		RunE: func(c *cobra.Command, args []string) error {
			return patch(args[0], &f, c.OutOrStdout(), c.ErrOrStderr())
		},
	}
	flags := c.Flags()
	flags.StringVar(&f.set, "set", "", "set list, by name or file (default: the first)")
	flags.BoolVar(&f.free, "free", false, "propose addresses for fixtures without one")
	flags.BoolVar(&f.write, "write", false, "with --free: put them into rig.yaml")
	flags.BoolVar(&f.sheet, "sheet", false, "a sheet to print, with address switches")
	flags.BoolVar(&f.html, "html", false, "with --sheet: as a page for a browser")
	flags.BoolVar(&f.power, "power", false, "what each circuit draws")
	flags.StringVar(&f.out, "out", "", "write to this file (default: print)")
	flags.BoolVar(&f.force, "force", false, "write over a file that exists")
	c.MarkFlagsMutuallyExclusive("free", "sheet", "power")
	return c
}

func patch(name string, f *patchFlags, out, errOut io.Writer) error {
	switch {
	case f.write && !f.free:
		return usage.Errorf("--write goes with --free")
	case f.html && !f.sheet:
		return usage.Errorf("--html goes with --sheet")
	case f.free:
		return freeAddresses(name, f.write, out, errOut)
	}
	show, err := loadRig(name, f.set, errOut)
	if err != nil {
		return err
	}
	var text bytes.Buffer
	switch {
	case f.sheet && f.html:
		err = paper.HTML(&text, paper.PatchBook(show))
	case f.sheet:
		err = paper.Text(&text, paper.PatchBook(show))
	case f.power:
		err = paper.Text(&text, paper.PowerBook(show))
	default:
		paper.PrintPatch(&text, show)
	}
	if err != nil {
		return err
	}
	return deliverFile(out, f.out, text.Bytes(), f.force, ".")
}

// loadRig loads a show. If only its looks, songs or sets have faults, it loads the rig
// without them, and says so.
func loadRig(name, set string, errOut io.Writer) (*shows.Show, error) {
	files, err := showfiles.Open(name)
	if err != nil {
		return nil, err
	}
	show, problems := shows.Load(files, shows.Options{Set: set})
	if len(problems) > 0 && len(shows.RigFaults(problems)) == 0 {
		others := len(problems)
		if show, problems = shows.Load(files, shows.Options{RigOnly: true}); len(problems) == 0 {
			fmt.Fprintf(errOut, "tactus: looks, songs or sets have faults (%d), which 'tactus check' lists; this is the rig without them\n", others)
		}
	}
	if len(problems) > 0 {
		printProblems(errOut, problems)
		return nil, errShown
	}
	return show, nil
}

func freeAddresses(name string, write bool, out, errOut io.Writer) error {
	session, err := showfiles.Compose(name, "")
	if err != nil {
		return err
	}
	rig := language.RigFile.Where()
	list, problems, err := shows.Propose(session.Sources()[rig])
	if err != nil {
		return fmt.Errorf("%s: %w", rig, err)
	}
	if len(problems) > 0 {
		printProblems(errOut, problems)
		return errShown
	}
	for _, p := range list {
		fmt.Fprintf(out, "%s:%d: %s on %s: address: %d, slots %d to %d\n", rig, p.Line, p.Fixture, p.Universe, p.Address, p.Address, p.Last)
	}
	if len(list) == 0 {
		fmt.Fprintln(out, "Every fixture has an address.")
		return nil
	}
	if !write {
		fmt.Fprintln(out, "Nothing was written; --write puts them into rig.yaml.")
		return nil
	}
	if name == showfiles.Demo {
		return errors.New("the demo is built in and stays as it is; 'tactus new FOLDER' makes a copy")
	}
	if err := saveEdits(session, errOut, &compose.FindAddresses{}); err != nil {
		return err
	}
	fmt.Fprintln(out, "Written into rig.yaml.")
	return nil
}
