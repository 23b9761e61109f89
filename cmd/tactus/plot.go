package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"tactus/cmd/tactus/usage"
	"tactus/cmd/tactus/wholefile"
	"tactus/shows"
	"tactus/shows/plot"
	"tactus/shows/sheet"
)

type plotFlags struct {
	set, out, paper string
	songs, format   []string
	stage, overview bool
	each            bool // songs by themselves
	force           bool
	dpi             int
}

func newPlot() *cobra.Command {
	var f plotFlags
	c := &cobra.Command{
		Use:   "plot SHOW",
		Short: "Draw the songs' light, the night on one page, and a stage plan",
		Long: `Play the set as planned, here and without any hardware, and draw its light: each
song as a score with a line for every head, as thick as the head is bright, under
the energy that the song declares and the light has; the whole night on one page;
and the stage from above, to print for the crew.

Without --song, --overview or --stage all of them are drawn, into a folder of
their own. If one of the files exists nothing is drawn; --force draws over them.

CAUTION: what is drawn is calculated. That no flashing is marked is no promise
that the light harms nobody.`,
		Example: `  tactus plot demo                             everything, into ./plots
  tactus plot my-hall --song lanterns          one song
  tactus plot my-hall --stage --format svg     a stage plan, to print
  tactus plot my-hall --out paper --paper letter --dpi 300`,
		RunE: func(c *cobra.Command, args []string) error {
			return f.run(c.Context(), args[0], c.OutOrStdout(), c.ErrOrStderr())
		},
	}
	flags := c.Flags()
	flags.StringVar(&f.set, "set", "", "set list, by name or file (default: the first)")
	flags.StringArrayVar(&f.songs, "song", nil, "only this song, by name or file; may be given again")
	flags.BoolVar(&f.overview, "overview", false, "the night on one page")
	flags.BoolVar(&f.stage, "stage", false, "the stage from above")
	flags.StringVar(&f.out, "out", "plots", "the folder to draw into")
	flags.StringSliceVar(&f.format, "format", []string{"png", "svg"}, "png, svg, or both")
	flags.StringVar(&f.paper, "paper", "a4", "a4 or letter, on its long side")
	flags.IntVar(&f.dpi, "dpi", sheet.DPI, fmt.Sprintf("pixels an inch of a PNG, %d to %d", sheet.LeastDPI, sheet.MostDPI))
	flags.BoolVar(&f.force, "force", false, "write over files that exist")
	return c
}

// picture is a sheet with the name of its file, without what follows the dot.
type picture struct {
	name string
	*sheet.Sheet
}

func (f *plotFlags) run(ctx context.Context, name string, out, errOut io.Writer) error {
	paper, err := f.check()
	if err != nil {
		return err
	}
	show, err := loadShow(name, f.set, errOut)
	if err != nil {
		return err
	}
	songs, err := f.wanted(show)
	if err != nil {
		return err
	}
	if err := wholefile.CheckNew(f.force, f.files(show, songs)...); err != nil {
		return err
	}
	pictures, err := f.draw(ctx, show, songs, paper, errOut)
	if err != nil {
		return err
	}
	if err := os.MkdirAll(f.out, 0o755); err != nil {
		return err
	}
	for _, p := range pictures {
		if err := f.write(ctx, p, out, errOut); err != nil {
			return err
		}
	}
	return nil
}

// check refuses flags that make no sense, and returns the paper.
func (f *plotFlags) check() (sheet.Paper, error) {
	for _, format := range f.format {
		if format != "png" && format != "svg" {
			return sheet.Paper{}, usage.Errorf("--format %q: want png, svg or png,svg", format)
		}
	}
	if f.dpi < sheet.LeastDPI || f.dpi > sheet.MostDPI {
		return sheet.Paper{}, usage.Errorf("--dpi %d: want %d to %d", f.dpi, sheet.LeastDPI, sheet.MostDPI)
	}
	for _, p := range sheet.Papers() {
		if strings.EqualFold(f.paper, p.Name) {
			return p, nil
		}
	}
	return sheet.Paper{}, usage.Errorf("--paper %q: want a4 or letter", f.paper)
}

// wanted returns the songs to measure: those that are named, else those of the set;
// none for a stage plan alone.
func (f *plotFlags) wanted(show *shows.Show) ([]int32, error) {
	if len(f.songs) == 0 {
		if !f.overview && !f.stage {
			f.overview, f.stage, f.each = true, true, true
		} else if !f.overview {
			return nil, nil
		}
		return songsOfSet(show), nil
	}
	if f.overview {
		return nil, usage.Errorf("--overview has every song of the set; leave out --song")
	}
	f.each = true
	return songsNamed(show, f.songs...)
}

// files lists the files that are wanted.
func (f *plotFlags) files(show *shows.Show, songs []int32) (list []string) {
	var names []string
	if f.each {
		for _, s := range songs {
			names = append(names, pictureOfSong(show, s))
		}
	}
	if f.overview {
		names = append(names, pictureOfNight)
	}
	if f.stage {
		names = append(names, pictureOfStage)
	}
	for _, name := range names {
		for _, format := range f.formats() {
			list = append(list, f.fileOf(name, format))
		}
	}
	return list
}

// The names of pictures, without what follows the dot.
const (
	pictureOfNight = "night"
	pictureOfStage = "stage"
)

func pictureOfSong(show *shows.Show, song int32) string { return "song-" + songStem(show, song) }

// formats returns each format once, in alphabetical order.
func (f *plotFlags) formats() []string {
	return slices.Compact(slices.Sorted(slices.Values(f.format)))
}

func (f *plotFlags) fileOf(picture, format string) string {
	return filepath.Join(f.out, picture+"."+format)
}

// draw measures songs and draws what is wanted.
func (f *plotFlags) draw(ctx context.Context, show *shows.Show, songs []int32, paper sheet.Paper, errOut io.Writer) (list []picture, err error) {
	if len(songs) > 0 {
		night, err := measureSongs(ctx, show, songs, errOut)
		if err != nil {
			return nil, err
		}
		if f.each {
			for i, s := range songs {
				list = append(list, picture{pictureOfSong(show, s), plot.Score(night, i, paper)})
			}
		}
		if f.overview {
			list = append(list, picture{pictureOfNight, plot.Overview(night, paper)})
		}
	}
	if f.stage {
		list = append(list, picture{pictureOfStage, plot.Stage(show, paper)})
	}
	return list, nil
}

// write writes a picture in every format, and warns of letters that a PNG lacks.
func (f *plotFlags) write(ctx context.Context, p picture, out, errOut io.Writer) error {
	for _, format := range f.formats() {
		src := p.SVG()
		if format == "png" {
			var err error
			if src, err = p.PNG(f.dpi); err != nil {
				return err
			}
			if missing := p.Missing(); missing != "" {
				fmt.Fprintf(errOut, "tactus: %s.png cannot show %s; the SVG can\n", p.name, missing)
			}
		}
		file := f.fileOf(p.name, format)
		if err := wholefile.Write(ctx, file, wholefile.Bytes(src)); err != nil {
			return err
		}
		fmt.Fprintln(out, file)
	}
	return nil
}
