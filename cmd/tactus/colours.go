package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"tactus/cmd/tactus/wholefile"
	"tactus/shows/swatches"
)

func newColours() *cobra.Command {
	var picture string
	var force bool
	c := &cobra.Command{
		Use:   "colours SHOW",
		Short: "Show how each fixture type mixes the show's colours",
		Long: `Show how each fixture type of the rig mixes the colours of the show's palettes,
and how far each is from the colour asked for, in ΔE00 (CIEDE2000; about 1 is
what a keen eye sees side by side). Colours of roles with "deep colours: bright"
are compared at the brightness that the type gives them; the table says how many
times as bright as matched that is.

It is a calculation from the emitters that the profiles give; where a profile
gives none, from typical ones. Real fixtures differ: what matters is measured or
looked at in the hall.`,
		Example: "  tactus colours demo\n  tactus colours harbour --picture colours.png",
		RunE: func(c *cobra.Command, args []string) error {
			show, err := loadShow(args[0], "", c.ErrOrStderr())
			if err != nil {
				return err
			}
			if err := wholefile.CheckNew(force, picture); err != nil {
				return err
			}
			t := swatches.New(show)
			if len(t.Kinds) == 0 {
				return fmt.Errorf("no fixture of %s mixes colours", show.Venue)
			}
			if err := t.Print(c.OutOrStdout()); err != nil || picture == "" {
				return err
			}
			return wholefile.Write(c.Context(), picture, t.WritePNG)
		},
	}
	c.Flags().StringVar(&picture, "picture", "", "draw a sheet of swatches into this PNG file")
	c.Flags().BoolVar(&force, "force", false, "write over a file that exists")
	return c
}
