package main

import (
	"errors"
	"fmt"
	"time"

	"github.com/spf13/cobra"

	"tactus/cmd/tactus/align"
	"tactus/cmd/tactus/senders"
	"tactus/cmd/tactus/terminal"
)

// alignFlags are the flags of align.
type alignFlags struct {
	align.Options
	click    string
	bell     bool
	duration time.Duration
}

func newAlign() *cobra.Command {
	var f alignFlags
	c := &cobra.Command{
		Use:   "align SHOW --fixture NAME",
		Short: "Find by eye and ear how far ahead the light must leave",
		Long: `Flash one fixture on the beat, with a click, and move the light against the click
until they fall together. What is found is the universe's lead.

CAUTION: the fixture flashes, once a second unless told otherwise and never more
than twice. Clear the room of people whom flashing can harm, and tell the others.
All else on the fixture's universe goes dark, house lights included: have other
light on, and nobody on a ladder.

Keys: + and - move the lead by 1 ms, page up and page down by 10 ms, Enter ends
and prints what to write in the rig's file, q ends without.

The click is a note to a MIDI output, on the channel of percussion in General
MIDI: 37 is the side stick, 76 the high wood block (from memory).`,
		Example: `  tactus align my-hall --fixture "wash 1" --click /dev/snd/midiC1D0 --interface eth0
  tactus align my-hall --fixture "wash 1" --bell
  tactus align demo --fixture "wash 1" --to 127.0.0.1 --lead 40ms --for 3s --click file:/tmp/clicks`,
		RunE: func(c *cobra.Command, args []string) error { return alignShow(c, args[0], &f) },
	}
	flags := c.Flags()
	flags.StringArrayVar(&f.Fixtures, "fixture", nil, "fixture to flash, by its name in the rig; may be given more than once")
	flags.StringVar(&f.click, "click", "", "MIDI output for the click: a port's name, a raw device or FIFO by path, or file:PATH")
	flags.Uint8Var(&f.Note, "note", 37, "note of the click, 0 to 127")
	flags.Uint8Var(&f.Channel, "channel", 10, "channel of the click, 1 to 16")
	flags.Float64Var(&f.Tempo, "tempo", 60, "flashes a minute, 20 to 120")
	flags.BoolVar(&f.bell, "bell", false, "ring the terminal's bell too; terminals add a delay of their own")
	flags.DurationVar(&f.Lead, "lead", 0, "lead to begin with (default: what the show has)")
	flags.StringVar(&f.To, "to", "", "send by unicast to this ADDRESS[:PORT] instead of where the show says")
	flags.StringVar(&f.Interface, "interface", "", "network interface to send from, instead of the show's")
	flags.StringVar(&f.Protocol, "protocol", "", "send by sacn, art-net or virtual (not at all)")
	flags.DurationVar(&f.duration, "for", 0, "stop by itself after this time and print the lead; no keys")
	flags.StringVar(&f.State, "state", "", "folder that keeps this installation's sACN identity (default: the user's configuration folder)")
	flags.BoolVar(&f.RealTime, "real-time", true, "ask the system for real-time priority and locked memory")
	completeFrom(c, "protocol", []string{senders.SACN, senders.ArtNet, senders.Virtual})
	return c
}

func alignShow(c *cobra.Command, name string, f *alignFlags) error {
	f.Exact, f.LeadSaid = true, c.Flags().Changed("lead")
	if err := errors.Join(f.CheckAll(), notBelowZero(f.duration)); err != nil {
		return err
	}
	defer neverWait(c, "console")()
	show, err := loadShow(name, "", c.ErrOrStderr())
	if err != nil {
		return err
	}
	log, err := newLog("console", c.ErrOrStderr(), terminal.Coloured(c.ErrOrStderr()))
	if err != nil {
		return err
	}
	a, err := align.New(show, &f.Options, log)
	if err != nil {
		return err
	}
	if f.click != "" {
		if err := a.OpenClick(f.click); err != nil {
			return err
		}
	}
	if f.bell {
		a.Bell = c.OutOrStdout()
	}
	fmt.Fprintln(c.ErrOrStderr(), "CAUTION: flashing light. All else on this universe goes dark.")
	ctx, cancel := limited(c.Context(), f.duration)
	defer cancel()
	return a.Run(ctx, cancel, f.duration == 0, c.InOrStdin(), c.OutOrStdout(), c.ErrOrStderr())
}
