package main

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net"
	"os"
	"runtime"
	"strings"
	"time"

	"github.com/rs/zerolog"
	"github.com/spf13/cobra"

	"tactus/clock"
	"tactus/cmd/tactus/laptop"
	"tactus/cmd/tactus/live"
	"tactus/cmd/tactus/senders"
	"tactus/cmd/tactus/showfiles"
	"tactus/cmd/tactus/usage"
	"tactus/cmd/tactus/wholefile"
	"tactus/engine"
	"tactus/protocol/dmx"
	"tactus/shows"
)

func newLaptop() *cobra.Command {
	var f liveFlags
	var jsonTo, picture string
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
		Args:              cobra.MaximumNArgs(1),
		ValidArgsFunction: completeShow,
		RunE: func(c *cobra.Command, args []string) error {
			return checkLaptop(c, append(args, showfiles.Demo)[0], &f, jsonTo, picture)
		},
	}
	f.add(c)
	flags := c.Flags()
	flags.Lookup("for").DefValue, f.duration = "30s", 30*time.Second
	flags.Lookup("for").Usage = "how long to measure"
	flags.StringVar(&jsonTo, "json", "", `write the report as JSON to this FILE; "-" for standard output, instead of words`)
	flags.StringVar(&picture, "picture", "", "draw how late frames woke into this FILE.svg or FILE.png")
	return c
}

func checkLaptop(c *cobra.Command, name string, f *liveFlags, jsonTo, picture string) error {
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
	if err := writable(jsonTo, picture); err != nil {
		return err
	}
	// Before the test, which is a load itself, and before --to takes the
	// place of where the show goes.
	facts := look(&show.Outputs, f)
	closeSink, err := keepHere(f, &show.Outputs)
	if err != nil {
		return err
	}
	defer closeSink()
	r, err := measure(c, show, f, facts)
	if err != nil {
		return err
	}
	return deliver(c.OutOrStdout(), f.Probe, r, jsonTo, picture)
}

// keepHere sends to a port of our own unless the user asked for another place.
// That one needs no goodbye.
func keepHere(f *liveFlags, o *shows.Outputs) (closeSink func(), err error) {
	if f.To != "" || f.Interface != "" || f.Protocol == senders.Virtual {
		return func() {}, nil
	}
	sink, err := net.ListenUDP("udp4", &net.UDPAddr{IP: net.IPv4(127, 0, 0, 1)})
	if err != nil {
		return nil, err
	}
	f.To, o.Exit.Rule = sink.LocalAddr().String(), shows.ExitTerminate
	return func() { sink.Close() }, nil
}

// look gathers what can be seen of this computer.
func look(o *shows.Outputs, f *liveFlags) laptop.Facts {
	var facts laptop.Facts
	if runtime.GOOS == "linux" {
		facts = laptop.Look(os.DirFS("/"), runtime.NumCPU(), leavesBy(o, f))
	}
	facts.System = runtime.GOOS
	return facts
}

// leavesBy names the interfaces that the show's light will leave by: those that
// are named, and those that the system would choose. Asking sends nothing.
func leavesBy(o *shows.Outputs, f *liveFlags) (names []string) {
	if f.Interface != "" {
		return []string{f.Interface}
	}
	names = append(names, o.SACN.Interface, o.ArtNet.Interface)
	for _, to := range senders.Addresses(o, &f.Options.Options) {
		names = append(names, routeTo(to))
	}
	return names
}

// routeTo names the interface that the system would send from; "" when none.
func routeTo(address string) string {
	c, err := net.Dial("udp4", net.JoinHostPort(address, "5568"))
	if err != nil {
		return ""
	}
	defer c.Close()
	from, ok := c.LocalAddr().(*net.UDPAddr)
	interfaces, err := net.Interfaces()
	if err != nil || !ok {
		return ""
	}
	for _, i := range interfaces {
		addresses, _ := i.Addrs()
		for _, a := range addresses {
			if n, ok := a.(*net.IPNet); ok && n.IP.Equal(from.IP) {
				return i.Name
			}
		}
	}
	return ""
}

// measure runs the loop and judges.
func measure(c *cobra.Command, show *shows.Show, f *liveFlags, facts laptop.Facts) (*laptop.Report, error) {
	f.Exact, f.Probe = true, laptop.NewProbe()
	var ticks *laptop.Ticks
	if len(f.MIDI) > 0 {
		ticks = laptop.NewTicks()
		f.Ticks = ticks
	} else if f.Clock == "" {
		f.Clock = "internal"
	}
	s, err := live.New(show, &f.Options, zerolog.Nop())
	if err != nil {
		return nil, err
	}
	ctx, cancel := limited(c.Context(), f.duration)
	defer cancel()
	faults := make(chan string, 1)
	go func() { faults <- progressOf(ctx, s, f.duration, c.ErrOrStderr()) }()
	start := s.Base.Now()
	err = s.Run(ctx)
	seconds := float64(s.Base.Now()-start) / float64(clock.Second)
	cancel()
	fault := <-faults
	if err != nil {
		return nil, err
	}
	var snap engine.Snapshot
	s.Snapshot(&snap)
	h := &snap.Health
	m := laptop.Measured{
		Seconds: seconds, Rate: float64(h.Frames+h.Missed) / seconds, Timer: s.Timer.Sleeper.Kind,
		Frames: h.Frames, Missed: h.Missed, Errors: h.Errors, Fault: fault,
		Late: f.Probe.Late(), Work: f.Probe.Work(),
	}
	if ticks != nil {
		j := ticks.Jitter()
		j.Locked(&h.Arrivals, &snap.Pos)
		m.Clock = &j
	}
	got := s.Timer.Got
	facts.RealTime, facts.Remedy, facts.AsAsked = got.String(), got.Remedy, !f.RealTime
	facts.Refused = f.RealTime && !got.Whole()
	r := laptop.Judge(m, facts)
	return &r, nil
}

// progressOf says now and then how long it will take. It returns the last error
// in sending that was seen.
func progressOf(ctx context.Context, s *live.Session, whole time.Duration, out io.Writer) (fault string) {
	tick := time.NewTicker(250 * time.Millisecond)
	defer tick.Stop()
	var snap engine.Snapshot
	start, told := s.Base.Now(), time.Duration(0)
	fmt.Fprintf(out, "measuring for %s; leave the computer as it will be on the night\n", whole)
	for {
		select {
		case <-ctx.Done():
			return fault
		case <-tick.C:
		}
		if s.Snapshot(&snap); snap.Health.LastErr != nil {
			fault = snap.Health.LastErr.Error()
		}
		if spent := s.Base.Now().Sub(start).Truncate(5 * time.Second); spent > told && spent < whole {
			told = spent
			fmt.Fprintf(out, "  %s of %s\n", spent, whole)
		}
	}
}

// deliver writes what was asked for; errShown says that the answer is no.
func deliver(out io.Writer, p *laptop.Probe, r *laptop.Report, jsonTo, picture string) error {
	if picture != "" {
		write, frame := p.WriteSVG, 1000.0/dmx.MaxRate
		if strings.HasSuffix(picture, ".png") {
			write = p.WritePNG
		}
		if err := wholefile.Write(context.Background(), picture, func(w io.Writer) error { return write(w, r, frame) }); err != nil {
			return err
		}
	}
	asJSON := func(w io.Writer) error {
		e := json.NewEncoder(w)
		e.SetIndent("", "  ")
		return e.Encode(r)
	}
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

// writable finds out before the wait whether files can be written at its end. It
// leaves nothing behind, and what is there as it was.
func writable(names ...string) error {
	for _, name := range names {
		if name == "" || name == "-" {
			continue
		}
		p, err := wholefile.Begin(name)
		if err != nil {
			return err
		}
		p.Drop()
	}
	return nil
}
