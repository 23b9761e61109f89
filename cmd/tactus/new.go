package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"

	"tactus/cmd/tactus/showfiles"
	"tactus/cmd/tactus/usage"
	"tactus/shows"
)

func newNew() *cobra.Command {
	return &cobra.Command{
		Use:   "new FOLDER",
		Short: "Copy the demo show as a starting point",
		Long: `Copy the demo show, Harbour Hall, into a new folder, to be made your own: first
rig.yaml, then a song.`,
		Example: `  tactus new my-hall
  tactus check my-hall`,
		RunE: func(c *cobra.Command, args []string) error {
			folder := args[0]
			if folder == showfiles.Demo {
				return usage.Errorf("%q is the name of the show that is built in; choose another", showfiles.Demo)
			}
			if err := copyOut(shows.Demo(), folder); err != nil {
				return err
			}
			fmt.Fprintf(c.OutOrStdout(), "Made %s. Next: edit %s, then 'tactus check %s'.\n",
				folder, filepath.Join(folder, "rig.yaml"), folder)
			return nil
		},
	}
}

// copyOut writes files into a folder that does not exist yet or is empty. The
// copy appears whole or not at all.
func copyOut(files fs.FS, folder string) error {
	if entries, err := os.ReadDir(folder); err == nil {
		if len(entries) > 0 {
			return fmt.Errorf("%s exists and is not empty; nothing was written", folder)
		}
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
