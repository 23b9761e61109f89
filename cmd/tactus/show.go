package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"

	"github.com/spf13/cobra"

	"tactus/shows"
)

// demoName is the SHOW that is built in.
const demoName = "demo"

// openShow returns the files of a show.
func openShow(name string) (fs.FS, error) {
	if name == demoName {
		return shows.Demo(), nil
	}
	info, err := os.Stat(name)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, fmt.Errorf("no folder %q; 'tactus new %s' makes one, and %q is the show that is built in", name, name, demoName)
	case err != nil:
		return nil, err
	case !info.IsDir():
		return nil, fmt.Errorf("%q is a file; a show is a folder with show.yaml, rig.yaml, looks.yaml, songs and sets", name)
	}
	return shows.Open(name)
}

// loadShow reads and compiles a show, or prints every fault in it.
func loadShow(name, set string, errOut io.Writer) (*shows.Show, error) {
	files, err := openShow(name)
	if err != nil {
		return nil, err
	}
	show, problems := shows.Load(files, shows.Options{Set: set})
	if len(problems) == 0 {
		return show, nil
	}
	printProblems(errOut, problems)
	return nil, errShown
}

// printProblems prints a line for each fault and how many there are.
func printProblems(w io.Writer, problems shows.Problems) {
	for _, p := range problems {
		fmt.Fprintln(w, p)
	}
	noun := "faults"
	if len(problems) == 1 {
		noun = "fault"
	}
	fmt.Fprintf(w, "%d %s\n", len(problems), noun)
}

// completeShow offers the demo and folders.
func completeShow(_ *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
	if len(args) > 0 {
		return nil, cobra.ShellCompDirectiveNoFileComp
	}
	return []string{demoName}, cobra.ShellCompDirectiveFilterDirs
}
