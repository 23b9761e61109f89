package main

import (
	"io"
	"os/signal"
	"syscall"
	"time"

	"tactus/cmd/tactus/live"
	"tactus/cmd/tactus/showfiles"
	"tactus/cmd/tactus/terminal"
	"tactus/cmd/tactus/usage"
	"tactus/shows"

	"github.com/rs/zerolog"
	"github.com/spf13/cobra"
)

func newRun() *cobra.Command {
	var f liveFlags
	c := &cobra.Command{
		Use:   "run SHOW",
		Args:  f.pair.checkWords,
		Short: "Play a show on the rig",
		Long: `Play a show on the rig, without a screen of its own: MIDI in, sACN and Art-Net
out, a line of health now and then.

Ctrl-C or SIGTERM ends the run as the show's "on exit" says: the light is held,
faded, or the streams are terminated at once. A second Ctrl-C leaves at once.

Files of the show that are edited meanwhile are taken over at a frame's edge,
without a jump in the light; faults are reported and change nothing.

With --resume the state of the show is kept as it plays: song, section and beat, look,
masters, what is held or armed. After a crash the next run with --resume goes on
from it at once, without a fade from dark, if it starts within a minute. After a run
that ended as it was asked to, it begins anew. See "tactus service" for a supervisor
that starts it.

Two computers can play one show, so that one takes over within a quarter of a
second when the other is lost: --lead-standby on the first, --standby on the
second, which gets the show from it. See docs/second-laptop.md.

With --compose the page can edit the show's files while it plays. The lamps have an
edit when it is saved: the files are then taken over as after any other edit. Without
it the page changes no files.

A lost MIDI port, cable or interface never ends the run: the tempo carries on,
the light stays, and everything is tried again until it is back. A terminal that
stops (Ctrl-S), or a pipe that nobody reads, holds nothing up either: lines of the
log that it does not take are dropped, and counted when it takes lines again.`,
		Example: `  tactus run my-hall --midi "Studio Interface" --interface eth0
  tactus run my-hall --midi /dev/snd/midiC1D0
  tactus run my-hall --midi /dev/snd/midiC1D0 --journal friday.journal
  tactus run my-hall --midi /dev/snd/midiC1D0 --resume
  tactus run my-hall --midi /dev/snd/midiC1D0 --lead-standby 10.0.0.1:4481
  tactus run --standby 10.0.0.1:4481 --midi /dev/snd/midiC1D0
  tactus run my-hall --midi /dev/snd/midiC1D0 --panel --compose
  tactus run demo --midi demo --to 127.0.0.1 --for 30s
  tactus run my-hall --midi plan --protocol virtual     no network, no DAW`,
		RunE: func(c *cobra.Command, args []string) error {
			if f.pair.standby != "" && f.compose {
				return usage.Errorf("--compose: a standby plays the other computer's show; give --compose there")
			}
			if f.pair.standby != "" {
				return runStandby(c, &f)
			}
			return runShow(c, args[0], &f)
		},
	}
	f.pair.add(c)
	f.addRun(c)
	return c
}

// addRun adds the flags of run.
func (f *liveFlags) addRun(c *cobra.Command) {
	c.Flags().StringVar(&f.log, "log", "console", "form of the log: console or json")
	c.Flags().DurationVar(&f.Health, "health", 10*time.Second, "how often to print a line of health; 0 for never")
	c.Flags().StringVar(&f.Journal, "journal", "", "record everything that comes in and every frame's checksum in this FILE, for\n\"tactus replay\"; an earlier one is kept as FILE.1. Without it nothing is written")
	c.Flags().BoolVar(&f.Others, "listen", false, "listen for other sources of the show's sACN universes, and tell of those that\nreceivers follow; done in any case when the show has inputs")
	c.Flags().BoolVar(&f.compose, "compose", false, "let the page edit the show's files; the lamps have an edit when it is saved")
	c.Flags().BoolVar(&f.resume, "resume", false, "keep the state of the show, in the folder of --state, and go on from it after a crash")
	f.add(c)
	f.addMessages(c)
}

// beginShow loads the show, or with --resume the one of the run before where that goes on.
func beginShow(f *liveFlags, log zerolog.Logger, errOut io.Writer) (*shows.Show, error) {
	if !f.resume {
		return loadShow(f.Name, f.Set, errOut)
	}
	kept := live.Continue(&f.Options, log)
	if kept.Show != nil {
		return kept.Show, nil
	}
	files, err := showfiles.Open(f.Name)
	if err != nil {
		return nil, err
	}
	archive, tooLarge := showfiles.Archive(files, shows.Options{})
	if tooLarge != nil { // or its files have faults: loading it says so
		show, err := loadFiles(files, f.Set, errOut)
		if err == nil {
			log.Warn().Err(tooLarge).Msg("the state of the show cannot be kept: a crash would begin anew")
		}
		return show, err
	}
	if files, err = showfiles.OpenArchive(archive); err != nil {
		return nil, err
	}
	if err := kept.Begin(files, archive); err != nil {
		return nil, err
	}
	return loadFiles(files, f.Set, errOut)
}

// checkCompose refuses --compose where the page could edit nothing that reaches the lamps.
func (f *liveFlags) checkCompose(name string) error {
	switch {
	case !f.compose:
	case name == showfiles.Demo:
		return usage.Errorf("--compose: the demo has no folder that edits could be saved in; 'tactus new my-hall' makes one")
	case !f.Page && f.PageAt == "":
		return usage.Errorf("--compose: edits are made on the page; add --panel")
	}
	return nil
}

// openCompose lets the page of a session edit the show's files, with --compose.
func (f *liveFlags) openCompose(s *live.Session, name string) error {
	if !f.compose {
		return nil
	}
	files, err := showfiles.Compose(name, f.Set)
	s.Compose(files, false)
	return err
}

func runShow(c *cobra.Command, name string, f *liveFlags) error {
	f.Exact, f.Name, f.Program = true, name, programName()
	if err := f.checked(); err != nil {
		return err
	}
	if err := f.checkCompose(name); err != nil {
		return err
	}
	signal.Ignore(syscall.SIGPIPE) // a log that nobody reads any more does not end the show
	defer neverWait(c, f.log)()
	log, err := newLog(f.log, c.ErrOrStderr(), terminal.Coloured(c.ErrOrStderr()))
	if err != nil {
		return err
	}
	show, err := beginShow(f, log, c.ErrOrStderr())
	if err != nil {
		return err
	}
	f.Messages, f.Inputs = true, true
	pair, err := f.pair.leadConfig(&f.Options)
	if err != nil {
		return err
	}
	s, err := live.New(show, &f.Options, log)
	if err != nil {
		return err
	}
	if pair != nil {
		s.Pair(*pair)
	}
	if err := f.openCompose(s, name); err != nil {
		return err
	}
	var files live.Notice
	if err := s.OpenPage(&f.Options, false, &files); err != nil {
		return err
	}
	if url := s.PageURL(); url != "" {
		log.Info().Str("page", url).Msg("open it in a browser")
	}
	edits := showfiles.NewReloader(name, f.Set, show)
	if f.Kept != nil && f.Kept.Files != nil {
		edits.PlaysFrom(f.Kept.Files)
	}
	s.Follow(edits, func(bad bool, lines []string) {
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
