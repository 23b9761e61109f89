package main

import (
	"context"
	"fmt"

	"github.com/spf13/cobra"

	"tactus/cmd/tactus/live"
	"tactus/cmd/tactus/terminal"
	"tactus/cmd/tactus/usage"
	"tactus/cmd/tactus/walk"
	"tactus/protocol/midi"
	"tactus/shows"
)

type walkFlags struct {
	live  liveFlags
	level int // percent
	marks string
}

func newWalk() *cobra.Command {
	var f walkFlags
	c := &cobra.Command{
		Use:   "walk SHOW",
		Short: "Light one fixture after another, to find what is patched wrong",
		Long: `Light one fixture after another on the show's own outputs, to see whether each
is where the patch says. Light comes and goes slowly, at 30 % unless told
otherwise; house lights and whatever else blackout spares stay at half, and
hazers stay off. Nothing flashes, nothing moves.

Type a word and Enter:
` + walk.Words + `

The end of input leaves too, unless there is a MIDI port or a page to go on with. MIDI
notes of any channel do the same: 60 next, 58 back, 62 group, 64 colour,
65 all, 67 wrong (without a reason).

What is marked wrong is added to a text file, with the date.

CAUTION: tell people on ladders before light comes up, and keep eyes off lenses.`,
		Example: `  tactus walk my-hall --interface eth0
  tactus walk my-hall --midi /dev/snd/midiC1D0 --level 20
  tactus walk my-hall --panel                           with buttons, in a browser
  tactus walk demo --protocol virtual`,
		RunE: func(c *cobra.Command, args []string) error { return runWalk(c, args[0], &f) },
	}
	f.live.add(c)
	for _, name := range []string{"clock", "repeat", "lead", "set"} {
		_ = c.Flags().MarkHidden(name) // a walk has no music
	}
	c.Flags().IntVar(&f.level, "level", 30, "how bright, in percent, 5 to 60")
	c.Flags().StringVar(&f.marks, "marks", "walk-marks.txt", "file to which faults are added")
	return c
}

func runWalk(c *cobra.Command, name string, f *walkFlags) error {
	if err := f.live.checked(); err != nil {
		return err
	}
	if f.level < 5 || f.level > 60 {
		return usage.Errorf("--level %d: want 5 to 60 %%", f.level)
	}
	defer neverWait(c, "console")()
	show, err := loadShow(name, f.live.Set, c.ErrOrStderr())
	if err != nil {
		return err
	}
	w := walk.New(show)
	walked := *show
	walked.Program = w.Program(show.Program, float64(f.level)/100)
	walked.Clock = shows.Sources{MIDI: true} // nothing starts by itself
	log, err := newLog("console", c.ErrOrStderr(), terminal.Coloured(c.ErrOrStderr()))
	if err != nil {
		return err
	}
	s, err := live.New(&walked, &f.live.Options, log)
	if err != nil {
		return err
	}
	for _, line := range s.Describe() {
		fmt.Fprintln(c.OutOrStdout(), line)
	}
	ctx, cancel := limited(c.Context(), f.live.duration)
	defer cancel()
	t := walk.NewTour(w, s.Base(), s.TrySend, c.OutOrStdout(), f.marks, show.Program.Name)
	s.SetWalker(t)
	if err := s.OpenPage(&f.live.Options, false, &live.Notice{}); err != nil {
		return err
	}
	s.ShowPage(nil, false, c.ErrOrStderr())
	s.TakeMIDI(func(_ context.Context, from <-chan midi.Message) { t.Listen(ctx, from) })
	go func() { // a read cannot be called off: it ends with the program
		if t.Read(c.InOrStdin()) || !s.Reachable() {
			cancel()
		}
	}()
	return s.Run(ctx)
}
