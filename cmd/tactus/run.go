package main

import (
	"os/signal"
	"syscall"
	"time"

	"tactus/cmd/tactus/live"
	"tactus/cmd/tactus/showfiles"
	"tactus/cmd/tactus/terminal"

	"github.com/spf13/cobra"
)

func newRun() *cobra.Command {
	var f liveFlags
	c := &cobra.Command{
		Use:   "run SHOW",
		Short: "Play a show on the rig",
		Long: `Play a show on the rig, without a screen of its own: MIDI in, sACN and Art-Net
out, a line of health now and then.

Ctrl-C or SIGTERM ends the run as the show's "on exit" says: the light is held,
faded, or the streams are terminated at once. A second Ctrl-C leaves at once.

Files of the show that are edited meanwhile are taken over at a frame's edge,
without a jump in the light; faults are reported and change nothing.

A lost MIDI port, cable or interface never ends the run: the tempo carries on,
the light stays, and everything is tried again until it is back. A terminal that
stops (Ctrl-S), or a pipe that nobody reads, holds nothing up either: lines of the
log that it does not take are dropped, and counted when it takes lines again.`,
		Example: `  tactus run my-hall --midi "Studio Interface" --interface eth0
  tactus run my-hall --midi /dev/snd/midiC1D0
  tactus run my-hall --midi /dev/snd/midiC1D0 --journal friday.journal
  tactus run demo --midi demo --to 127.0.0.1 --for 30s
  tactus run my-hall --midi plan --protocol virtual     no network, no DAW`,
		RunE: func(c *cobra.Command, args []string) error { return runShow(c, args[0], &f) },
	}
	c.Flags().StringVar(&f.log, "log", "console", "form of the log: console or json")
	c.Flags().DurationVar(&f.Health, "health", 10*time.Second, "how often to print a line of health; 0 for never")
	c.Flags().StringVar(&f.Journal, "journal", "", "record everything that comes in and every frame's checksum in this FILE, for\n\"tactus replay\"; an earlier one is kept as FILE.1. Without it nothing is written")
	c.Flags().BoolVar(&f.Others, "listen", false, "listen for other sources of the show's sACN universes, and tell of those that\nreceivers follow; done in any case when the show has inputs")
	f.add(c)
	f.addMessages(c)
	return c
}

func runShow(c *cobra.Command, name string, f *liveFlags) error {
	f.Exact, f.Name, f.Program = true, name, programName()
	if err := f.checked(); err != nil {
		return err
	}
	signal.Ignore(syscall.SIGPIPE) // a log that nobody reads any more does not end the show
	defer neverWait(c, f.log)()
	log, err := newLog(f.log, c.ErrOrStderr(), terminal.Coloured(c.ErrOrStderr()))
	if err != nil {
		return err
	}
	show, err := loadShow(name, f.Set, c.ErrOrStderr())
	if err != nil {
		return err
	}
	f.Messages, f.Inputs = true, true
	s, err := live.New(show, &f.Options, log)
	if err != nil {
		return err
	}
	var files live.Notice
	if err := s.OpenPage(&f.Options, false, &files); err != nil {
		return err
	}
	if url := s.PageURL(); url != "" {
		log.Info().Str("page", url).Msg("open it in a browser")
	}
	s.Follow(showfiles.NewReloader(name, f.Set, show), func(bad bool, lines []string) {
		files.Set(bad, lines)
		s.LogEdit(bad, lines)
	})
	s.Announce()
	ctx, cancel := limited(c.Context(), f.duration)
	defer cancel()
	err = s.Run(ctx)
	log.Info().Msg("goodbye")
	return err
}
