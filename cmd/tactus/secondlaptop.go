package main

import (
	"net"
	"os/signal"
	"syscall"
	"time"

	"github.com/spf13/cobra"

	"tactus/cmd/tactus/live"
	"tactus/cmd/tactus/pairing"
	"tactus/cmd/tactus/senders"
	"tactus/cmd/tactus/standby"
	"tactus/cmd/tactus/terminal"
	"tactus/cmd/tactus/usage"
)

// pairFlags are the flags for two computers that play one show.
type pairFlags struct {
	lead       string        // ADDRESS:PORT to listen on for a standby; "": none
	standby    string        // HOST[:PORT] of the leader; "": this is none
	raiseAfter time.Duration // from a take-over
}

func (f *pairFlags) add(c *cobra.Command) {
	flags := c.Flags()
	flags.StringVar(&f.lead, "lead-standby", "", "let a second computer stand by for this one: it connects to this ADDRESS:PORT of this\ncomputer. Both need the same key (tactus pair)")
	flags.StringVar(&f.standby, "standby", "", "stand by for the computer HOST[:PORT] that runs with --lead-standby, without a SHOW:\nits show is played here too, and this computer takes over when it is lost")
	flags.DurationVar(&f.raiseAfter, "standby-raise-after", 0, "how long after taking over the sACN priority is raised above the leader's. With 3s,\nreceivers change over by their own time for lost data, 2.5 s; with 0s at once")
}

// checkWords wants a SHOW, or none with --standby.
func (f *pairFlags) checkWords(c *cobra.Command, args []string) error {
	switch {
	case f.raiseAfter < 0:
		return usage.Errorf("--standby-raise-after %s is below zero", f.raiseAfter)
	case f.raiseAfter > 0 && f.standby == "":
		return usage.Errorf("--standby-raise-after is for the computer that stands by: give --standby too")
	case f.standby != "" && f.lead != "":
		return usage.Errorf("--standby and --lead-standby: a computer is one of the two")
	case f.standby != "" && len(args) > 0:
		return usage.Errorf("--standby: leave out %q; the show comes from the leader", args[0])
	case f.standby != "":
		return nil
	}
	return cobra.ExactArgs(1)(c, args)
}

// leadConfig returns what a leader's pair is made from; nil without --lead-standby.
func (f *pairFlags) leadConfig(o *live.Options) (*standby.Config, error) {
	if f.lead == "" {
		return nil, nil
	}
	key, err := pairing.Load(o.State)
	if err != nil {
		return nil, err
	}
	if _, _, err := net.SplitHostPort(f.lead); err != nil {
		return nil, usage.Errorf("--lead-standby %s: want ADDRESS:PORT, like 10.0.0.1:%s", f.lead, standby.DefaultPort)
	}
	listen, err := net.Listen("tcp", f.lead)
	if err != nil {
		return nil, usage.Errorf("--lead-standby %s: %v", f.lead, err)
	}
	o.Standing = senders.NewStanding(senders.Place{})
	return &standby.Config{Leads: true, Listen: listen, Key: key, Program: o.Program}, nil
}

// leaderAddress completes HOST[:PORT].
func leaderAddress(text string) string {
	if _, _, err := net.SplitHostPort(text); err == nil {
		return text
	}
	return net.JoinHostPort(text, standby.DefaultPort)
}

// runStandby stands by for a leader until a signal ends it, for one show after another.
func runStandby(c *cobra.Command, f *liveFlags) error {
	f.Exact, f.Program, f.Messages, f.Inputs = true, programName(), true, true
	if err := f.checked(); err != nil {
		return err
	}
	for flag, given := range map[string]bool{
		"set": f.Set != "", "clock": f.Clock != "", "lead": f.Lead != 0, "journal": f.Journal != "", "resume": f.resume,
	} {
		if given {
			return usage.Errorf("--%s is not for a standby: what is played comes from the leader", flag)
		}
	}
	signal.Ignore(syscall.SIGPIPE) // a log that nobody reads any more does not end the show
	defer neverWait(c, f.log)()
	log, err := newLog(f.log, c.ErrOrStderr(), terminal.Coloured(c.ErrOrStderr()))
	if err != nil {
		return err
	}
	key, err := pairing.Load(f.State)
	if err != nil {
		return err
	}
	ctx, cancel := limited(c.Context(), f.duration)
	defer cancel()
	open := func(s *live.Session) error {
		if err := s.OpenPage(&f.Options, false, &live.Notice{}); err != nil {
			return err
		}
		if url := s.PageURL(); url != "" {
			log.Info().Str("page", url).Msg("open it in a browser")
		}
		s.Announce()
		return nil
	}
	config := standby.Config{Dial: leaderAddress(f.pair.standby), Key: key, Program: f.Program, RaiseAfter: f.pair.raiseAfter}
	log.Info().Str("leader", config.Dial).Msg("standby: waiting for the leader")
	for ctx.Err() == nil {
		if err := live.NewFollower(&f.Options, config, log).Run(ctx, open); err != nil {
			return err
		}
		if ctx.Err() == nil {
			log.Info().Msg("standby: the leader has ended the show; waiting for the next")
		}
	}
	log.Info().Msg("goodbye")
	return nil
}
