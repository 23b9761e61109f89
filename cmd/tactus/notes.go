package main

import (
	"github.com/spf13/cobra"

	"tactus/cmd/tactus/notemap"
)

func newNotes() *cobra.Command {
	var set string
	c := &cobra.Command{
		Use:   "notes SHOW",
		Short: "Print the MIDI notes, programs and OSC that drive a show",
		Long: `Print the map from MIDI to light: which note on which channel enters or arms
which section, which program selects which song, and what the other notes and
controllers do.

Note names count octaves so that middle C, note 60, is C4; some DAWs call it C3.
Programs are printed as musicians count them, 1 to 128, and as MIDI sends them.

At the end are the OSC addresses that ask for the same, when --osc-listen is on.`,
		Example: `  tactus notes demo
  tactus notes my-hall --set november`,
		RunE: func(c *cobra.Command, args []string) error {
			show, err := loadShow(args[0], set, c.ErrOrStderr())
			if err != nil {
				return err
			}
			notemap.Print(c.OutOrStdout(), show.Program)
			return nil
		},
	}
	c.Flags().StringVar(&set, "set", "", "set list, by name or file (default: the first)")
	return c
}
