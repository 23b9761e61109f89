package main

import (
	"time"

	"github.com/spf13/cobra"

	"tactus/cmd/tactus/senders"
	"tactus/cmd/tactus/usage"
)

// watchFlags are the flags of watch.
type watchFlags struct {
	watchOptions
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

Multicast universes must be joined: those of the show, or of --universes. What is
sent here by unicast or broadcast arrives in any case.`,
		Example: `  tactus watch --interface eth0 --universes 1-4
  tactus watch my-hall --interface eth0
  tactus watch demo --interface lo --for 10s
  tactus watch --interface lo --json --every 500ms`,
		Args:              cobra.MaximumNArgs(1),
		ValidArgsFunction: completeShow,
		RunE:              func(c *cobra.Command, args []string) error { return watch(c, args, &f) },
	}
	flags := c.Flags()
	flags.StringVar(&f.iface, "interface", "", "network interface to listen on, like eth0 or lo")
	flags.StringVar(&f.universes, "universes", "", "sACN universes to join, like 1,5-8 (default: the show's, or 1-16)")
	flags.StringVar(&f.protocol, "protocol", "", "listen for sacn or art-net only")
	flags.StringVar(&f.set, "set", "", "set list, by name or file (default: the first)")
	flags.DurationVar(&f.duration, "for", 0, "stop by itself after this time")
	flags.DurationVar(&f.every, "every", time.Second, "how often to print")
	flags.BoolVar(&f.json, "json", false, "print one JSON object a universe and line")
	fixed(c, "protocol", []string{senders.SACN, senders.ArtNet})
	return c
}

func watch(c *cobra.Command, args []string, f *watchFlags) error {
	if f.every < 10*time.Millisecond {
		return usage.Errorf("--every %s: want 10ms or more", f.every)
	}
	if f.protocol != "" && f.protocol != senders.SACN && f.protocol != senders.ArtNet {
		return usage.Errorf("--protocol %q: want sacn or art-net", f.protocol)
	}
	if len(args) == 1 {
		var err error
		if f.show, err = loadShow(args[0], f.set, c.ErrOrStderr()); err != nil {
			return err
		}
	}
	var err error
	if f.join, err = joins(f.universes, f.show); err != nil {
		return usage.Wrap(err)
	}
	f.redraw = coloured(c.OutOrStdout()) && !f.json
	ctx, cancel := limited(c.Context(), max(0, f.duration))
	defer cancel()
	return watchWire(ctx, c.OutOrStdout(), &f.watchOptions)
}
