package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"time"

	"github.com/rs/zerolog"
	"github.com/spf13/cobra"
	"golang.org/x/term"

	"tactus/cmd/tactus/draw"
	"tactus/cmd/tactus/live"
	"tactus/cmd/tactus/senders"
	"tactus/cmd/tactus/showfiles"
	"tactus/cmd/tactus/terminal"
	"tactus/engine"
)

func newRehearse() *cobra.Command {
	var f liveFlags
	var plain bool
	c := &cobra.Command{
		Use:   "rehearse SHOW",
		Short: "See a show in the terminal, without any hardware",
		Long: `Play a show on a virtual rig and draw it here: the stage in colour, the song as
a ribbon, where we are. The engine is the one of "tactus run". Files that are edited meanwhile are taken over
as in a run; the plan goes on as it began.

Without --midi the set is played as planned, as a DAW would send it, with two bars
or a little more between songs. The end of the set ends the rehearsal unless
somebody has opened the page. With
--to, --interface or --protocol the light also goes to the network.

Where the output is not a terminal, it is plain text: a line for each bar.`,
		Example: `  tactus rehearse demo
  tactus rehearse my-hall --set november
  tactus rehearse my-hall --midi /tmp/daw                a FIFO that something writes to
  tactus rehearse demo --plain --for 20s`,
		Args:              cobra.ExactArgs(1),
		ValidArgsFunction: completeShow,
		RunE: func(c *cobra.Command, args []string) error {
			return rehearse(c, args[0], &f, plain)
		},
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
	show, err := loadShow(name, f.Set, c.ErrOrStderr())
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
		s.PlayedBy(runningPlayer{newPlayer(s.Base, s.Input, s.Snapshot, show.Program, func() bool { return !s.Visited() })})
	}
	if err := s.OpenPage(&f.Options, true, &note); err != nil {
		return err
	}
	ctx, cancel := limited(c.Context(), f.duration)
	defer cancel()
	go func() { // the end of a MIDI file ends a rehearsal
		select {
		case <-s.Ended:
			cancel()
		case <-ctx.Done():
		}
	}()
	file, onScreen := terminal.Screen(c.OutOrStdout())
	onScreen = onScreen && !plain
	s.TellPage(&note, onScreen, c.ErrOrStderr())
	s.Follow(showfiles.NewReloader(name, f.Set, show), func(bad bool, lines []string) {
		note.Tell(bad, lines)
		for i := 0; i < len(lines) && !onScreen; i++ {
			fmt.Fprintln(c.ErrOrStderr(), lines[i])
		}
	})
	drawn := make(chan struct{})
	go func() {
		defer close(drawn)
		if onScreen {
			drawScreen(ctx, s, file, &note)
			return
		}
		drawPlain(ctx, s, c.OutOrStdout())
	}()
	err = s.Run(ctx)
	<-drawn
	return err
}

// How often the screen is drawn, and how often plain text looks for news.
const (
	drawEvery  = 40 * time.Millisecond
	plainEvery = 20 * time.Millisecond
)

// drawScreen draws the show over the whole terminal until ctx ends.
func drawScreen(ctx context.Context, s *live.Session, file *os.File, note *live.Notice) {
	colour := draw.WantsColour(os.Getenv)
	tick := time.NewTicker(drawEvery)
	defer tick.Stop()
	io.WriteString(file, draw.Enter)
	defer io.WriteString(file, draw.Leave)
	var d *draw.Drawing
	var program *engine.Program
	var snap engine.Snapshot
	var buf []byte
	wide, high := 0, 0
	for {
		w, h, err := term.GetSize(int(file.Fd()))
		if err != nil {
			w, h = 80, 24
		}
		s.Snapshot(&snap)
		if d == nil || w != wide || h != high || snap.Program != program {
			wide, high, program = w, h, snap.Program
			d = draw.New(program, w, h, colour)
		}
		buf = note.AppendTo(d.Frame(buf[:0], &snap), w, h)
		file.Write(buf)
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
		}
	}
}

// drawPlain prints lines until ctx ends.
func drawPlain(ctx context.Context, s *live.Session, out io.Writer) {
	tick := time.NewTicker(plainEvery)
	defer tick.Stop()
	program := s.Show.Program
	d := draw.New(program, 0, 0, false)
	var snap engine.Snapshot
	var buf []byte
	for {
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
		}
		s.Snapshot(&snap)
		if snap.Program != program {
			program = snap.Program
			d = draw.New(program, 0, 0, false)
		}
		if buf = d.Plain(buf[:0], &snap); len(buf) > 0 {
			out.Write(buf)
		}
	}
}

// runningPlayer plays the set in a session. The end of the set ends the
// rehearsal, unless somebody has opened the page: a tablet that has gone to sleep
// finds it again.
type runningPlayer struct{ *player }

// Run plays until ctx or the set ends.
func (p runningPlayer) Run(ctx context.Context) { p.run(ctx) }
