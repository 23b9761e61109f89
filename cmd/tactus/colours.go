package main

import (
	"fmt"
	"io"
	"math"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"tactus/cmd/tactus/wholefile"
	"tactus/engine"
	"tactus/fixtures"
	"tactus/shows"
)

func newColours() *cobra.Command {
	var picture string
	c := &cobra.Command{
		Use:   "colours SHOW",
		Short: "Show how each fixture type mixes the show's colours",
		Long: `Show how each fixture type of the rig mixes the colours of the show's palettes,
and how far each is from the colour asked for, in ΔE00 (CIEDE2000; about 1 is
what a keen eye sees side by side).

It is a calculation from the emitters that the profiles give; where a profile
gives none, from typical ones. Real fixtures differ: what matters is measured or
looked at in the hall.`,
		Example:           "  tactus colours demo\n  tactus colours harbour --picture colours.png",
		Args:              cobra.ExactArgs(1),
		ValidArgsFunction: completeShow,
		RunE: func(c *cobra.Command, args []string) error {
			show, err := loadShow(args[0], "", c.ErrOrStderr())
			if err != nil {
				return err
			}
			s := swatchesOf(show)
			if len(s.kinds) == 0 {
				return fmt.Errorf("no fixture of %s mixes colours", show.Venue)
			}
			if err := s.print(c.OutOrStdout()); err != nil || picture == "" {
				return err
			}
			return wholefile.Write(c.Context(), picture, s.draw)
		},
	}
	c.Flags().StringVar(&picture, "picture", "", "draw a sheet of swatches into this PNG file")
	return c
}

// swatches are the colours of a show on each of its fixture types.
type swatches struct {
	title  string
	kinds  []swatchKind
	colour []swatchColour
}

type swatchKind struct {
	name  string
	mixer *fixtures.Mixer
}

type swatchColour struct {
	name string
	rgb  fixtures.RGB
}

// swatchesOf takes white, the pure colours, and the palettes in the order of the
// show; a colour that comes again is left out.
func swatchesOf(show *shows.Show) *swatches {
	s := &swatches{title: show.Venue}
	if show.Program.Name != show.Venue {
		s.title = show.Program.Name + ", " + show.Venue
	}
	known := map[string]bool{}
	for h, head := range show.Program.Heads {
		name := show.Program.Patch.Placements()[head.Fixture].Profile.Name
		if m := show.Program.Patch.Mixer(h); m != nil && !known[name] {
			known[name] = true
			s.kinds = append(s.kinds, swatchKind{name, m})
		}
	}
	add := func(name string, rgb fixtures.RGB) {
		if key := rgb.Hex(); !known[key] {
			known[key] = true
			s.colour = append(s.colour, swatchColour{name, rgb})
		}
	}
	for _, name := range []string{"white", "red", "orange", "yellow", "lime", "cyan", "blue", "magenta"} {
		rgb, _ := fixtures.ColourByName(name)
		add(name, rgb)
	}
	palette := func(where string, p engine.Palette) {
		for r, role := range []string{"main", "second", "accent", "warm"} {
			add(where+" "+role, p[r])
		}
	}
	palette("house", show.Program.House)
	for i := range show.Program.Songs {
		palette(show.Program.Songs[i].Name, show.Program.Songs[i].Palette)
	}
	return s
}

// match is how a type shows a colour: looked up as when the show runs, and
// rounded to the 8 bits that most fixtures have.
func (k *swatchKind) match(c fixtures.RGB) (shown fixtures.RGB, levels fixtures.Levels, deltaE float64) {
	k.mixer.Mix(c, &levels)
	for i := range levels {
		levels[i] = math.Round(levels[i]*255) / 255
	}
	shown = k.mixer.Light(&levels)
	white := fixtures.D65()
	return shown, levels, c.XYZ().Lab(white).DeltaE(shown.XYZ().Lab(white))
}

func (s *swatches) print(w io.Writer) error {
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	for i := range s.kinds {
		k := &s.kinds[i]
		fmt.Fprintf(t, "%s\tsRGB\tΔE00\tlevels\n", k.name)
		for _, c := range s.colour {
			_, levels, deltaE := k.match(c.rgb)
			fmt.Fprintf(t, "  %s\t%s\t%.2f\t", c.name, c.rgb.Hex(), deltaE)
			for j, e := range k.mixer.Emitters() {
				fmt.Fprintf(t, "%s %.0f %%  ", e.Param, levels[j]*100)
			}
			if f := k.mixer.Fit(c.rgb); f.ChromaLost > 0.001 {
				fmt.Fprintf(t, "gives up %.0f %% of the chroma", 100*f.ChromaLost/math.Max(1e-9, c.rgb.OKLab().OKLCh().C))
			}
			fmt.Fprintln(t)
		}
		fmt.Fprintf(t, "  white alone could be %.1f times as bright\n\t\t\t\n", k.mixer.WhiteHeadroom())
	}
	return t.Flush()
}
