package main

import (
	"context"
	"fmt"
	"strconv"
	"strings"
	"sync"
	"time"

	"github.com/spf13/cobra"

	"tactus/clock"
	"tactus/cmd/tactus/senders"
	"tactus/cmd/tactus/usage"
	"tactus/protocol/artnet"
	"tactus/protocol/sacn"
	"tactus/shows"
)

// watchFlags are the flags of watch.
type watchFlags struct {
	iface     string
	universes string
	protocol  string
	set       string
	duration  time.Duration
	every     time.Duration
	json      bool
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
	var show *shows.Show
	if len(args) == 1 {
		var err error
		if show, err = loadShow(args[0], f.set, c.ErrOrStderr()); err != nil {
			return err
		}
	}
	join, err := joins(f.universes, show)
	if err != nil {
		return usage.Wrap(err)
	}
	w := &watcher{base: clock.NewBase(), sacn: sacn.NewMonitor(), artnet: artnet.NewMonitor(), show: show, json: f.json}
	ctx, cancel := context.WithCancel(c.Context())
	if f.duration > 0 {
		ctx, cancel = context.WithTimeout(c.Context(), f.duration)
	}
	defer cancel()
	done, err := w.listen(ctx, f, join)
	if err != nil {
		return err
	}
	w.screen = coloured(c.OutOrStdout()) && !f.json
	w.print(ctx, c.OutOrStdout(), f.every)
	done.Wait()
	return nil
}

// watcher gathers what the receivers hear.
type watcher struct {
	base   clock.Base
	show   *shows.Show
	json   bool
	screen bool // redraw in place

	mu     sync.Mutex
	sacn   *sacn.Monitor
	artnet *artnet.Monitor
}

// listen starts the receivers; the group is done when they have ended.
func (w *watcher) listen(ctx context.Context, f *watchFlags, join []uint16) (*sync.WaitGroup, error) {
	var done sync.WaitGroup
	if f.protocol != senders.ArtNet {
		r, err := sacn.NewReceiver(sacn.ReceiverConfig{Interface: f.iface, Universes: join, Discovery: true, Clock: w.base})
		if err != nil {
			return nil, err
		}
		done.Go(func() {
			r.Run(ctx, func(p sacn.Packet) {
				w.mu.Lock()
				w.sacn.Take(p)
				w.mu.Unlock()
			})
		})
	}
	if f.protocol != senders.SACN {
		r, err := artnet.NewReceiver(artnet.ReceiverConfig{Interface: f.iface, Base: w.base})
		if err != nil {
			return nil, err
		}
		done.Go(func() {
			_ = r.Run(ctx, func(p artnet.Packet) { // ends with ctx
				w.mu.Lock()
				w.artnet.Take(p)
				w.mu.Unlock()
			})
		})
	}
	return &done, nil
}

// joins lists the sACN universes whose groups to join.
func joins(text string, show *shows.Show) ([]uint16, error) {
	if text == "" && show == nil {
		text = "1-16"
	}
	var list []uint16
	if text == "" {
		for _, u := range show.Outputs.Universes {
			if u.Protocol == shows.SACN {
				list = append(list, uint16(u.Number))
			}
		}
		return list, nil
	}
	for part := range strings.SplitSeq(text, ",") {
		low, high, isRange := strings.Cut(strings.TrimSpace(part), "-")
		if !isRange {
			high = low
		}
		from, err1 := strconv.ParseUint(low, 10, 16)
		to, err2 := strconv.ParseUint(high, 10, 16)
		if err1 != nil || err2 != nil || from < sacn.MinUniverse || to > sacn.MaxUniverse || to < from {
			return nil, fmt.Errorf("--universes %q: want numbers and ranges of %d to %d, like 1,5-8", part, sacn.MinUniverse, sacn.MaxUniverse)
		}
		for n := from; n <= to; n++ {
			list = append(list, uint16(n))
		}
	}
	return list, nil
}
