package trial

import (
	"context"
	"fmt"
	"io"
	"net"
	"os"
	"runtime"
	"time"

	"tactus/clock"
	"tactus/cmd/tactus/laptop"
	"tactus/cmd/tactus/live"
	"tactus/cmd/tactus/senders"
	"tactus/engine"
	"tactus/shows"

	"github.com/rs/zerolog"
)

// Run plays the show for a time, shows progress on errOut, and judges the computer.
func Run(ctx context.Context, show *shows.Show, f *live.Options, whole time.Duration, errOut io.Writer) (*laptop.Report, error) {
	// Before the test, which is a load itself, and before --to takes the
	// place of where the show goes.
	facts := factsOf(&show.Outputs, f)
	closeSink, err := sendToSink(f, &show.Outputs)
	if err != nil {
		return nil, err
	}
	defer closeSink()
	f.Exact, f.Probe = true, laptop.NewProbe()
	var ticks *laptop.Ticks
	if len(f.MIDI) > 0 {
		ticks = laptop.NewTicks()
		f.Ticks = ticks
	} else if f.Clock == "" {
		f.Clock = "internal"
	}
	s, err := live.New(show, f, zerolog.Nop())
	if err != nil {
		return nil, err
	}
	ctx, cancel := context.WithTimeout(ctx, whole)
	defer cancel()
	faults := make(chan string, 1)
	go func() { faults <- showProgress(ctx, s, whole, errOut) }()
	start := s.Base().Now()
	err = s.Run(ctx)
	seconds := float64(s.Base().Now()-start) / float64(clock.Second)
	cancel()
	fault := <-faults
	if err != nil {
		return nil, err
	}
	var snap engine.Snapshot
	s.Snapshot(&snap)
	h := &snap.Health
	m := laptop.Measured{
		Seconds: seconds, Rate: float64(h.Frames+h.Missed) / seconds, Timer: s.Timer().Sleeper.Kind,
		Frames: h.Frames, Missed: h.Missed, Errors: h.Errors, Fault: fault,
		Late: f.Probe.Late(), Work: f.Probe.Work(),
	}
	if ticks != nil {
		j := ticks.Jitter()
		j.Locked(&h.Arrivals, &snap.Pos)
		m.Clock = &j
	}
	got := s.Timer().Got
	facts.RealTime, facts.Remedy, facts.AsAsked = got.String(), got.Remedy, !f.RealTime
	facts.Refused = f.RealTime && !got.Whole()
	r := laptop.Judge(m, facts)
	return &r, nil
}

// showProgress says every 5 s how much of the time has passed. It returns the last
// error in sending that it saw.
func showProgress(ctx context.Context, s *live.Session, whole time.Duration, out io.Writer) (fault string) {
	tick := time.NewTicker(250 * time.Millisecond)
	defer tick.Stop()
	var snap engine.Snapshot
	start, told := s.Base().Now(), time.Duration(0)
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
		if spent := s.Base().Now().Sub(start).Truncate(5 * time.Second); spent > told && spent < whole {
			told = spent
			fmt.Fprintf(out, "  %s of %s\n", spent, whole)
		}
	}
}

// sendToSink sends to a port of this program's own, which needs no goodbye, unless the
// user named another place.
func sendToSink(f *live.Options, o *shows.Outputs) (closeSink func(), err error) {
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

// factsOf gathers facts about this computer, as far as its system tells.
func factsOf(o *shows.Outputs, f *live.Options) laptop.Facts {
	var facts laptop.Facts
	if runtime.GOOS == "linux" {
		facts = laptop.Look(os.DirFS("/"), runtime.NumCPU(), interfacesOf(o, f))
	}
	facts.System = runtime.GOOS
	return facts
}

// interfacesOf names the network interfaces that the show sends from: those that it
// names, and those that the system would choose. It sends nothing.
func interfacesOf(o *shows.Outputs, f *live.Options) (names []string) {
	if f.Interface != "" {
		return []string{f.Interface}
	}
	names = append(names, o.SACN.Interface, o.ArtNet.Interface)
	for _, to := range senders.Addresses(o, &f.Options) {
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
