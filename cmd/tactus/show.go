package main

import (
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"tactus/cmd/tactus/showfiles"
	"tactus/shows"
	"tactus/shows/language"
)

// loadShow reads and compiles a show, or prints every fault in it.
func loadShow(name, set string, errOut io.Writer) (*shows.Show, error) {
	files, err := showfiles.Open(name)
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
func printProblems(w io.Writer, problems language.Problems) {
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
	return []string{showfiles.Demo}, cobra.ShellCompDirectiveFilterDirs
}
