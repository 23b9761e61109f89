package main

import (
	"context"
	"io"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"tactus/cmd/tactus/laptop"
	"tactus/cmd/tactus/showfiles"
	"tactus/cmd/tactus/trial"
	"tactus/cmd/tactus/usage"
	"tactus/cmd/tactus/wholefile"
)

func newLaptop() *cobra.Command {
	var f liveFlags
	var jsonTo, picture string
	var force bool
	c := &cobra.Command{
		Use:   "laptop [SHOW]",
		Short: "Find out whether this computer is fit to run a show",
		Long: `Run the show, or the demo, for 30 seconds with the loop of "tactus run", and say
in plain words whether this computer is fit: how late frames wake, how many are
missed, errors in sending, how MIDI clock comes in on your own port (with --midi)
and how far off the beat is by that, and what can be seen of battery, power
saving, Wi-Fi and memory.

Packets go to a port of this program's own on this computer, so that nothing
leaves it. With --interface they go where the show says, with --to to an
address: then lights may move.

Exit code 0: fit, perhaps with remarks. 1: not fit. --json writes "verdict",
"measured" (times in ms), "facts" and "remarks". --picture draws the lateness as
SVG or PNG.

Leave the computer as it will be on the night: the same programs, the same power.`,
		Example: `  tactus laptop
  tactus laptop my-hall --midi "Studio Interface"
  tactus laptop my-hall --for 5m --json report.json --picture lateness.svg
  tactus laptop --json -                                 JSON instead of words`,
		Args: cobra.MaximumNArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			return checkLaptop(c, append(args, showfiles.Demo)[0], &f, jsonTo, picture, force)
		},
	}
	f.add(c)
	f.addMessages(c)
	flags := c.Flags()
	flags.Lookup("for").DefValue, f.duration = "30s", 30*time.Second
	flags.Lookup("for").Usage = "how long to measure"
	flags.StringVar(&jsonTo, "json", "", `write the report as JSON to this FILE; "-" for standard output, instead of words`)
	flags.StringVar(&picture, "picture", "", "draw how late frames woke into this FILE.svg or FILE.png")
	flags.BoolVar(&force, "force", false, "write over files that exist")
	return c
}

func checkLaptop(c *cobra.Command, name string, f *liveFlags, jsonTo, picture string, force bool) error {
	if err := f.checked(); err != nil {
		return err
	}
	switch {
	case f.duration == 0:
		return usage.Errorf("--for 0s: want a time to measure, like 30s")
	case picture != "" && !strings.HasSuffix(picture, ".svg") && !strings.HasSuffix(picture, ".png"):
		return usage.Errorf("--picture %q: want a name that ends in .svg or .png", picture)
	}
	show, err := loadShow(name, f.Set, c.ErrOrStderr())
	if err != nil {
		return err
	}
	if err := writable(force, jsonTo, picture); err != nil {
		return err
	}
	end := neverWait(c, "")
	r, err := trial.Run(c.Context(), show, &f.Options, f.duration, c.ErrOrStderr())
	end()
	if err != nil {
		return err
	}
	return deliver(c.OutOrStdout(), f.Probe, r, jsonTo, picture)
}

// deliver writes what was asked for; errShown means that the computer is not fit.
func deliver(out io.Writer, p *laptop.Probe, r *laptop.Report, jsonTo, picture string) error {
	if picture != "" {
		src, err := p.Picture(r, strings.HasSuffix(picture, ".png"))
		if err == nil {
			err = wholefile.Write(context.Background(), picture, wholefile.Bytes(src))
		}
		if err != nil {
			return err
		}
	}
	asJSON := func(w io.Writer) error { return writeJSON(w, r) }
	var err error
	switch jsonTo {
	case "-":
		err = asJSON(out)
	case "":
		r.WriteText(out)
	default:
		r.WriteText(out)
		err = wholefile.Write(context.Background(), jsonTo, asJSON)
	}
	if err == nil && r.Verdict == laptop.NotFit {
		return errShown
	}
	return err
}

// writable checks before the measurement that files can be written after it, and
// without force that they do not exist. It changes no file and leaves none.
func writable(force bool, names ...string) error {
	for _, name := range names {
		if name == "" || name == "-" {
			continue
		}
		if err := wholefile.CheckNew(force, name); err != nil {
			return err
		}
		p, err := wholefile.Begin(name)
		if err != nil {
			return err
		}
		p.Drop()
	}
	return nil
}
