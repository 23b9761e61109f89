package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"tactus/cmd/tactus/showfiles"
	"tactus/cmd/tactus/usage"
	"tactus/shows"
	"tactus/shows/newrig"
)

func newNew() *cobra.Command {
	var f emptyFlags
	var empty bool
	c := &cobra.Command{
		Use:   "new FOLDER",
		Short: "Copy the demo show as a starting point, or make a show for a hall of your own",
		Long: fmt.Sprintf(`Copy the demo show, Harbour Hall, into a new folder, to be made your own: first
rig.yaml, then a song.

--empty makes a show for a hall that nobody has described yet. It asks in the terminal
what hangs where, such as "4 rgbw on front truss"; numbers addresses; and writes groups,
a palette, looks and a ladder that fit the rig, and a first song with its light. It plays
at once: 'tactus rehearse FOLDER'. Without an answer the show is left undecided, and the
page asks the same, under Compose, Rig.

With --hang, which may be given several times, or --list nothing is asked. --list reads
a list as a spreadsheet exports or pastes it: a line for each fixture or row of fixtures,
cells parted by tabs, semicolons or commas, with a header line in any order (name,
profile, mode, universe, address, place, quantity, x, y, z, watts) or none. Profiles may be
in words (RGBW wash 5ch, fresnel, LED bar 4) or a GDTF file beside the list; addresses may
have the universe before them (1.001, 1/1, A1). Without a terminal the list is read from
standard input. A list with lines that are not understood makes nothing, and tells them
with the reason; --skip makes the show without them.

Places: %s;
or metres across, back and up.

Packets go to this computer only, unless --to says where: "multicast", or IPv4 addresses
of gateways; for one universe, "1=10.0.0.7".`, strings.Join(newrig.PlaceNames(), ", ")),
		Example: `  tactus new my-hall
  tactus check my-hall
  tactus new my-hall --empty
  tactus new my-hall --empty --hang "4 rgbw on front truss" --hang "2 dimmer in hall"
  tactus new my-hall --empty --list rig.csv --venue "Dockside Hall" --to multicast`,
		RunE: func(c *cobra.Command, args []string) error {
			folder := args[0]
			if folder == showfiles.Demo {
				return usage.Errorf("%q is the name of the show that is built in; choose another", showfiles.Demo)
			}
			if empty {
				return newEmpty(folder, &f, c.InOrStdin(), c.OutOrStdout(), c.ErrOrStderr())
			}
			for _, name := range []string{"venue", "list", "hang", "to", "skip"} {
				if c.Flags().Changed(name) {
					return usage.Errorf("--%s goes with --empty", name)
				}
			}
			if err := copyOut(shows.Demo(), folder); err != nil {
				return err
			}
			fmt.Fprintf(c.OutOrStdout(), "Made %s. Next: edit %s, then 'tactus check %s'.\n",
				folder, filepath.Join(folder, "rig.yaml"), folder)
			return nil
		},
	}
	c.Flags().BoolVar(&empty, "empty", false, "make a show for a rig that you describe")
	f.add(c)
	return c
}

// copyOut writes files into a folder that does not exist yet or is empty. The
// copy appears whole or not at all.
func copyOut(files fs.FS, folder string) error {
	if err := hasRoom(folder); err != nil {
		return err
	}
	if _, err := os.ReadDir(folder); err == nil {
		if err := os.Remove(folder); err != nil {
			return err
		}
	} else if !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	parent := filepath.Dir(filepath.Clean(folder))
	if err := os.MkdirAll(parent, 0o755); err != nil {
		return err
	}
	part, err := os.MkdirTemp(parent, ".tactus-new-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(part) // gone already when all went well
	if err := os.CopyFS(part, files); err != nil {
		return err
	}
	if err := os.Chmod(part, 0o755); err != nil {
		return err
	}
	return os.Rename(part, folder)
}

// hasRoom returns an error if a folder exists and has something in it, or is a file.
func hasRoom(folder string) error {
	if info, err := os.Stat(folder); err == nil && !info.IsDir() {
		return fmt.Errorf("%s is a file, and a folder is to be made; nothing was written", folder)
	}
	if entries, err := os.ReadDir(folder); err == nil && len(entries) > 0 {
		return fmt.Errorf("%s exists and is not empty; nothing was written", folder)
	}
	return nil
}
