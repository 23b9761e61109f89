package main

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"tactus/clock"
	"tactus/cmd/tactus/terminal"
	"tactus/cmd/tactus/usage"
	"tactus/cmd/tactus/wholefile"
	"tactus/shows/hearing"
	"tactus/shows/language"
	"tactus/shows/sheet"
)

// listenFlags has the flags of listen.
type listenFlags struct {
	name, out, picture, meter string
	tempo                     float64
	force                     bool
}

func newListen() *cobra.Command {
	var f listenFlags
	c := &cobra.Command{
		Use:   "listen SONG.flac",
		Short: "Make a song file of a recording",
		Long: `Listen to a recording and print what was heard: tempo and meter, bars, sections and
which of them are alike, and the energy of each, with reasons. WAV, FLAC, MP3, Ogg
Vorbis and Ogg Opus are read, up to 20 minutes long. With --out, a song file is
written to fill in, or to give to 'tactus draft'.

All of it is a guess: listen, and correct. Where the song can be counted in more than
one way, the others are listed with the flags that choose them. Sections begin on bar
lines. Energies are made of loudness (ITU-R BS.1770-4), of how full and bright the
sound is, and of drums and bass, each against the song's own range.

The recording stays where it is, and is not copied. The same file gives the same song.`,
		Example: `  tactus listen long-shore.flac
  tactus listen long-shore.flac --out my-hall/songs/long-shore.yaml
  tactus listen long-shore.flac --picture long-shore.svg
  tactus listen take-3.mp3 --tempo 72 --meter 6/8     count it otherwise`,
		Args: cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			return f.run(args[0], c.OutOrStdout(), c.ErrOrStderr())
		},
	}
	c.Flags().StringVar(&f.name, "name", "", "name of the song (default: the file's name)")
	c.Flags().StringVar(&f.out, "out", "", "write a song file")
	c.Flags().StringVar(&f.picture, "picture", "", "draw what was heard into this file, .svg or .png")
	c.Flags().Float64Var(&f.tempo, "tempo", 0, fmt.Sprintf("beats a minute, %d to %d, about (default: as heard)", hearing.Slowest, hearing.Fastest))
	c.Flags().StringVar(&f.meter, "meter", "", "2/4, 3/4, 4/4, 6/8 or 12/8 (default: as heard)")
	c.Flags().BoolVar(&f.force, "force", false, "write over files that exist")
	return c
}

func (f *listenFlags) run(file string, out, errOut io.Writer) error {
	asked, err := f.asked()
	if err != nil {
		return err
	}
	var files []string
	for _, name := range []string{f.out, f.picture} {
		if name != "" {
			files = append(files, name)
		}
	}
	if err := wholefile.CheckNew(f.force, files...); err != nil {
		return err
	}
	take, err := openTake(file, errOut)
	if err != nil {
		return err
	}
	heard, err := take.Song(asked)
	if err != nil {
		return fmt.Errorf("%s: %w", file, err)
	}
	if f.name == "" {
		f.name = terminal.Printable(strings.TrimSuffix(filepath.Base(file), filepath.Ext(file)))
	}
	song := heard.Import(f.name)
	printHeard(out, take, heard, song.Song.Name)
	if f.picture != "" {
		if err := f.draw(take, heard, song.Song.Name, out); err != nil {
			return err
		}
	}
	if f.out == "" {
		return nil
	}
	return deliverFile(out, f.out, song.AppendTo(nil), f.force,
		": %d sections. Listen and put names and energies right, then add looks, or let 'tactus draft' do it.", len(heard.Sections))
}

// asked reads the flags that say how to count.
func (f *listenFlags) asked() (a hearing.Asked, err error) {
	if f.tempo != 0 && !(f.tempo >= hearing.Slowest && f.tempo <= hearing.Fastest) {
		return a, usage.Errorf("--tempo %g: want %d to %d", f.tempo, hearing.Slowest, hearing.Fastest)
	}
	a.BPM = f.tempo
	if f.meter != "" {
		if n, err := fmt.Sscanf(f.meter, "%d/%d", &a.Upper, &a.Lower); n != 2 || err != nil || fmt.Sprintf("%d/%d", a.Upper, a.Lower) != f.meter {
			return a, usage.Errorf("--meter %q: want 2/4, 3/4, 4/4, 6/8 or 12/8", f.meter)
		}
		if err := hearing.CheckMeter(a.Upper, a.Lower); err != nil {
			return a, usage.Errorf("--%v", err)
		}
	}
	if f.picture != "" && f.format() == "" {
		return a, usage.Errorf("--picture %q: want a name that ends in .svg or .png", f.picture)
	}
	return a, nil
}

func (f *listenFlags) format() string {
	switch strings.ToLower(filepath.Ext(f.picture)) {
	case ".svg":
		return "svg"
	case ".png":
		return "png"
	}
	return ""
}

// openTake reads and measures a recording, with progress on long ones.
func openTake(file string, errOut io.Writer) (*hearing.Take, error) {
	in, err := os.Open(file)
	if err != nil {
		return nil, err
	}
	defer in.Close()
	const steps = 100
	p := terminal.NewProgress(errOut, "listening", steps, clock.NewBase().Now)
	take, err := hearing.Open(in, func(done float64) { p.Step(int(done*steps) - p.At) })
	p.Done()
	if err != nil {
		return nil, fmt.Errorf("%s: %w", file, err)
	}
	if take.Cut {
		fmt.Fprintf(errOut, "note: %s ends before its own end; what there is was listened to\n", file)
	}
	return take, nil
}

func printHeard(out io.Writer, take *hearing.Take, h *hearing.Heard, name string) {
	first := h.Readings[0]
	fmt.Fprintf(out, "%s: %d/%d at %s, %s in %s. Bar 1 begins %.2f s into the recording, which has %.0f LUFS.\n",
		name, first.Upper, first.Lower, h.TempoWords(), language.Count(len(h.BarBeats), "bar"), language.Minutes(clock.Time(take.Seconds*float64(clock.Second))), h.Lines[0], take.Loudness())
	for _, r := range h.Readings[1:] {
		if r.Likely >= doubtful {
			fmt.Fprintf(out, "Or %d/%d at %.0f BPM (%.0f %%): --tempo %.0f --meter %d/%d\n", r.Upper, r.Lower, r.BPM, 100*r.Likely, r.BPM, r.Upper, r.Lower)
		}
	}
	fmt.Fprintln(out, "Names and energies are guesses:")
	w := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "bars\tat\tsection\tenergy\tbegins\twhy")
	for i := range h.Sections {
		s := &h.Sections[i]
		fmt.Fprintf(w, "%d-%d\t%s\t%s\t%2.0f %s\t%s\t%s\n", s.First+1, s.First+s.Bars, language.Minutes(clock.Time(h.Lines[s.First]*float64(clock.Second))),
			h.Name(i), s.Energy, strings.Repeat("#", int(s.Energy)), s.Sure(), h.Reason(i))
	}
	_ = w.Flush() // to a writer that printed before
}

// doubtful is how likely another reading has to be to be told.
const doubtful = 0.05

func (f *listenFlags) draw(take *hearing.Take, h *hearing.Heard, name string, out io.Writer) error {
	s := take.Picture(h, name)
	b := s.SVG()
	if f.format() == "png" {
		var err error
		if b, err = s.PNG(sheet.DPI); err != nil {
			return err
		}
	}
	return deliverFile(out, f.picture, b, f.force, "")
}
