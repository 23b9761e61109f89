package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"time"

	"github.com/spf13/cobra"

	"tactus/cmd/tactus/live"
	"tactus/cmd/tactus/terminal"
	"tactus/cmd/tactus/usage"
)

// liveFlags are the flags that run and rehearse share.
type liveFlags struct {
	live.Options
	log      string
	pair     pairFlags
	resume   bool
	compose  bool // the page edits the show's files
	duration time.Duration
}

func (f *liveFlags) add(c *cobra.Command) {
	flags := c.Flags()
	flags.StringArrayVar(&f.MIDI, "midi", nil, `MIDI input: a port's name, a raw device or FIFO by path, file:PATH for a MIDI
file, "demo" for the demo's file, "plan" for the set as planned. May be given
more than once; the clock of the first counts`)
	flags.StringVar(&f.Set, "set", "", "set list to play, by name or file (default: the first)")
	flags.StringVar(&f.Clock, "clock", "", "who leads the tempo, instead of the show's choice: auto (midi, then tap, then internal), midi, tap, internal; the last two wait for no start from a DAW")
	flags.StringVar(&f.To, "to", "", "send everything by unicast to this ADDRESS[:PORT] instead of where the show says")
	flags.StringVar(&f.Interface, "interface", "", "network interface to send from, instead of the show's")
	flags.StringVar(&f.Protocol, "protocol", "", "send all universes by sacn, art-net or virtual (not at all)")
	flags.DurationVar(&f.duration, "for", 0, "stop by itself after this time, like 90s")
	flags.DurationVar(&f.Rise, "rise", 2*time.Second, "how long the stage takes to come up at the start; what blackout spares, such as\nhouse lights, is there at once")
	flags.DurationVar(&f.Lead, "lead", 0, "how far ahead of the beat to render, to cancel the delay of network and fixtures;\nadded to the lead that a universe has in the show")
	flags.StringVar(&f.Grid, "grid", "", "how frames are laid, instead of the show's choice: beat (every beat is a frame) or\nfree (a plain 44 a second)")
	flags.BoolVar(&f.RealTime, "real-time", true, "ask the system for real-time priority and locked memory")
	flags.BoolVar(&f.Page, "panel", false, "serve a page for browsers, to see the stage and steer, on "+live.PageAddress)
	flags.StringVar(&f.PageAt, "panel-at", "", "serve it on this ADDRESS:PORT instead; where others can reach it, a passphrase\nhas to be set first (tactus passphrase)")
	flags.BoolVar(&f.Repeat, "repeat", false, "play a MIDI file again at its end")
	flags.StringVar(&f.State, "state", "", "folder that keeps this installation's sACN identity, and the state for --resume (default: the user's configuration folder)")
	for name, values := range map[string][]string{
		"clock": {"auto", "midi", "tap", "internal"}, "protocol": {"sacn", "art-net", "virtual"}, "grid": {"beat", "free"}, "log": {"console", "json"},
	} {
		if flags.Lookup(name) != nil {
			completeFrom(c, name, values)
		}
	}
}

// addMessages adds the flags for what cues send, and for commands by OSC.
func (f *liveFlags) addMessages(c *cobra.Command) {
	flags := c.Flags()
	flags.StringVar(&f.MIDIOut, "midi-out", "", "MIDI output for what cues send: a port's name, a device or FIFO by path, file:PATH")
	flags.StringVar(&f.OSCTo, "osc-to", "", "send the OSC of cues to this ADDRESS:PORT")
	flags.StringVar(&f.OSCIn, "osc-listen", "", "take commands by OSC on this PORT, from this computer alone, or on ADDRESS:PORT;\nOSC has no password: whoever reaches it is obeyed")
}

// completeFrom completes a flag from a list.
func completeFrom(c *cobra.Command, flag string, values []string) {
	_ = c.RegisterFlagCompletionFunc(flag, cobra.FixedCompletions(values, cobra.ShellCompDirectiveNoFileComp))
}

// checked refuses times below zero, and a lead that is too long.
func (f *liveFlags) checked() error { return errors.Join(f.Check(), notBelowZero(f.duration)) }

// notBelowZero refuses a --for that is over before it began.
func notBelowZero(d time.Duration) error {
	if d < 0 {
		return usage.Errorf("--for %s is below zero", d)
	}
	return nil
}

// exitWait is how long an exit waits for a terminal to take what is still queued.
const exitWait = 500 * time.Millisecond

// neverWait has a command that plays a show print through queues, so that a terminal
// or a pipe that takes nothing holds up neither the show nor its end. The returned
// function ends that: it waits a little for what is still queued. form is that of the
// log, "" for a command that prints plain text.
func neverWait(c *cobra.Command, form string) (end func()) {
	tell := tellLost
	if form != "" {
		tell = func(to io.Writer, lost int) {
			if log, err := newLog(form, to, terminal.Coloured(to)); err == nil {
				log.Warn().Int("lines", lost).Msg("lines lost here: the terminal or the pipe did not take them")
			}
		}
	}
	out, errOut := c.OutOrStdout(), c.ErrOrStderr()
	queues := []*terminal.DropWriter{terminal.NewDropWriter(out, tellLost), terminal.NewDropWriter(errOut, tell)}
	c.SetOut(queues[0])
	c.SetErr(queues[1])
	over := sayingGoodbye(c.Context())
	return func() {
		ctx, cancel := context.WithTimeout(context.Background(), exitWait)
		defer cancel()
		for _, q := range queues {
			q.Close(ctx)
		}
		c.SetOut(out)
		c.SetErr(errOut)
		over()
	}
}

// tellLost tells, in plain text, how many lines a terminal did not take.
func tellLost(to io.Writer, lost int) {
	fmt.Fprintf(to, "tactus: %d lines lost here: the terminal or the pipe did not take them\n", lost)
}

// limited ends ctx after a time; 0 is no limit.
func limited(ctx context.Context, d time.Duration) (context.Context, context.CancelFunc) {
	if d == 0 {
		return context.WithCancel(ctx)
	}
	return context.WithTimeout(ctx, d)
}
