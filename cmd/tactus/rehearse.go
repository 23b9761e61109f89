package main

import (
	"context"
	"fmt"
	"io"

	"github.com/rs/zerolog"
	"github.com/spf13/cobra"

	"tactus/cmd/tactus/live"
	"tactus/cmd/tactus/rehearsal"
	"tactus/cmd/tactus/senders"
	"tactus/cmd/tactus/showfiles"
	"tactus/cmd/tactus/terminal"
	"tactus/shows"
	"tactus/shows/compose"
)

func newRehearse() *cobra.Command {
	var f liveFlags
	var plain bool
	c := &cobra.Command{
		Use:   "rehearse SHOW",
		Short: "See a show in the terminal, without any hardware",
		Long: `Play a show on a virtual rig and draw it here: the stage in colour, the song as
a ribbon, where we are. The engine is the one of "tactus run". Files that are edited meanwhile are taken over
as in a run; the plan goes on as it began. The page can edit them too: each edit shows
on the stage at once, and is in the files when it is saved. The demo can be edited and
not be saved: "tactus new my-hall" makes a folder of it.

Without --midi the set is played as planned, as a DAW would send it, with two bars
or a little more between songs. The end of the set ends the rehearsal unless
somebody has opened the page. With
--to, --interface or --protocol the light also goes to the network.

Where the output is not a terminal, it is plain text: a line for each bar.`,
		Example: `  tactus rehearse demo
  tactus rehearse my-hall --set november
  tactus rehearse my-hall --midi /tmp/daw                a FIFO that something writes to
  tactus rehearse demo --plain --for 20s`,
		RunE: func(c *cobra.Command, args []string) error { return rehearse(c, args[0], &f, plain) },
	}
	c.Flags().BoolVar(&plain, "plain", false, "plain text even on a terminal")
	f.add(c)
	f.addMessages(c)
	page := c.Flags().Lookup("panel")
	page.DefValue, f.Page = "true", true
	return c
}

func rehearse(c *cobra.Command, name string, f *liveFlags, plain bool) error {
	f.Exact = true
	if err := f.checked(); err != nil {
		return err
	}
	defer neverWait(c, "")()
	show, files, err := openForEdits(name, &f.Options, c.ErrOrStderr())
	if err != nil {
		return err
	}
	alone := len(f.MIDI) == 0 && f.Clock != "internal" // nobody else plays
	if alone && !f.Page {
		f.MIDI = []string{"plan"}
	}
	if f.Protocol == "" && f.To == "" && f.Interface == "" {
		f.Protocol = senders.Virtual
	}
	s, err := live.New(show, &f.Options, zerolog.Nop())
	if err != nil {
		return err
	}
	var note live.Notice
	if alone && f.Page {
		s.SetPlayer(rehearsal.NewPlayer(s, show.Program))
	}
	s.Compose(files, true)
	if err := s.OpenPage(&f.Options, true, &note); err != nil {
		return err
	}
	ctx, cancel := limited(c.Context(), f.duration)
	defer cancel()
	go func() { // the end of a MIDI file ends a rehearsal
		select {
		case <-s.Ended():
			cancel()
		case <-ctx.Done():
		}
	}()
	file, onScreen := terminal.Screen(c.OutOrStdout())
	onScreen = onScreen && !plain
	s.ShowPage(&note, onScreen, c.ErrOrStderr())
	s.Follow(showfiles.NewReloader(name, f.Set, show), func(bad bool, lines []string) {
		note.Set(bad, lines)
		for i := 0; i < len(lines) && !onScreen; i++ {
			fmt.Fprintln(c.ErrOrStderr(), lines[i])
		}
	})
	drawn := make(chan struct{})
	go func() {
		defer close(drawn)
		if onScreen {
			rehearsal.DrawScreen(ctx, s, file, &note)
			return
		}
		rehearsal.DrawPlain(ctx, s, c.OutOrStdout())
	}()
	err = s.Run(ctx)
	awaitTerminal(drawn)
	return err
}

// openForEdits loads a show, and the session in which the page edits it; nil: there is no
// page. It prints every fault in the show.
func openForEdits(name string, f *live.Options, errOut io.Writer) (*shows.Show, *compose.Session, error) {
	if !f.Page && f.PageAt == "" {
		show, err := loadShow(name, f.Set, errOut)
		return show, nil, err
	}
	files, err := showfiles.Compose(name, f.Set)
	if err != nil {
		return nil, nil, err
	}
	if faults := files.State().Faults; len(faults) > 0 {
		printProblems(errOut, faults)
		return nil, nil, errShown
	}
	return files.Show(), files, nil
}

// awaitTerminal waits until the last drawing is done, or the terminal has stopped.
func awaitTerminal(drawn <-chan struct{}) {
	wait, stop := context.WithTimeout(context.Background(), exitWait)
	defer stop()
	select {
	case <-drawn:
	case <-wait.Done():
	}
}
