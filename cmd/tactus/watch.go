package main

import (
	"time"

	"github.com/spf13/cobra"

	"tactus/cmd/tactus/senders"
	"tactus/cmd/tactus/terminal"
	"tactus/cmd/tactus/usage"
	"tactus/cmd/tactus/watch"
)

// watchFlags are the flags of watch.
type watchFlags struct {
	watch.Options
	universes string
	set       string
	duration  time.Duration
}

func newWatch() *cobra.Command {
	var f watchFlags
	c := &cobra.Command{
		Use:   "watch [SHOW]",
		Short: "Show what sACN and Art-Net arrives here",
		Long: `Listen for sACN and Art-Net and print every universe that arrives, from whom, how
often, and its levels: by fixture name when a show is given, else by slot.

Where several sACN sources send the same universe, it says which of them is in
control, and why: the one with the highest priority, or several with the highest
level of each slot, as E1.31 has it.

Multicast universes must be joined: those of the show, or of --universes. What is
sent here by unicast or broadcast arrives in any case. Without a network,
"--interface lo" watches what this computer sends to itself.

A named interface may come later, be unplugged or go: it is listened to again as soon
as it is back, and what is wrong with it is printed meanwhile.`,
		Example: `  tactus watch --interface eth0 --universes 1-4
  tactus watch my-hall --interface eth0
  tactus watch demo --interface lo --for 10s
  tactus watch --interface lo --json --every 500ms`,
		Args: cobra.MaximumNArgs(1),
		RunE: func(c *cobra.Command, args []string) error { return runWatch(c, args, &f) },
	}
	flags := c.Flags()
	flags.StringVar(&f.Interface, "interface", "", "network interface to listen on, like eth0 or lo")
	flags.StringVar(&f.universes, "universes", "", "sACN universes to join, like 1,5-8 (default: the show's, or 1-16)")
	flags.StringVar(&f.Protocol, "protocol", "", "listen for sacn or art-net only")
	flags.StringVar(&f.set, "set", "", "set list, by name or file (default: the first)")
	flags.DurationVar(&f.duration, "for", 0, "stop by itself after this time")
	flags.DurationVar(&f.Every, "every", time.Second, "how often to print")
	flags.BoolVar(&f.JSON, "json", false, "print one JSON object a universe and line")
	completeFrom(c, "protocol", []string{senders.SACN, senders.ArtNet})
	return c
}

func runWatch(c *cobra.Command, args []string, f *watchFlags) error {
	if f.Every < 10*time.Millisecond {
		return usage.Errorf("--every %s: want 10ms or more", f.Every)
	}
	if f.Protocol != "" && f.Protocol != senders.SACN && f.Protocol != senders.ArtNet {
		return usage.Errorf("--protocol %q: want sacn or art-net", f.Protocol)
	}
	if len(args) == 1 {
		var err error
		if f.Show, err = loadShow(args[0], f.set, c.ErrOrStderr()); err != nil {
			return err
		}
	}
	var err error
	if f.Join, err = watch.Joins(f.universes, f.Show); err != nil {
		return usage.Wrap(err)
	}
	f.Redraw = terminal.Coloured(c.OutOrStdout()) && !f.JSON
	ctx, cancel := limited(c.Context(), max(0, f.duration))
	defer cancel()
	return watch.Run(ctx, c.OutOrStdout(), &f.Options)
}
