package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"tactus/clock"
	"tactus/shows"
)

func newCheck() *cobra.Command {
	var set string
	c := &cobra.Command{
		Use:   "check SHOW",
		Short: "Find every fault in a show's files",
		Long: `Read all files of a show and print every fault in one go, each with file, line
and column, what is allowed there and the nearest valid name. Exit code 1 if
there is any.`,
		Example: `  tactus check my-hall
  tactus check demo`,
		Args:              cobra.ExactArgs(1),
		ValidArgsFunction: completeShow,
		RunE: func(c *cobra.Command, args []string) error {
			show, err := loadShow(args[0], set, c.ErrOrStderr())
			if err != nil {
				return err
			}
			fmt.Fprintln(c.OutOrStdout(), summary(show))
			return nil
		},
	}
	c.Flags().StringVar(&set, "set", "", "set list, by name or file (default: the first)")
	return c
}

// summary says in a line what a show is made of.
func summary(show *shows.Show) string {
	p := show.Program
	var length clock.Time
	for _, s := range p.SetList {
		length += p.Songs[s].TimeAt(p.Songs[s].Length())
	}
	minutes := length / (60 * clock.Second)
	seconds := length % (60 * clock.Second) / clock.Second
	return fmt.Sprintf("%s: %d fixtures, %d heads, %d universes, %d looks, %d effects, %d songs; set %q plays %d of them, %d:%02d long. No faults.",
		p.Name, len(p.Patch.Placements()), len(p.Heads), len(p.Universes), len(p.Looks), len(p.Effects), len(p.Songs),
		p.SetName, len(p.SetList), minutes, seconds)
}
