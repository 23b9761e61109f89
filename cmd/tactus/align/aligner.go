package align

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"os"
	"runtime"
	"slices"
	"sync"
	"sync/atomic"
	"time"

	"github.com/rs/zerolog"
	"golang.org/x/term"

	"tactus/clock"
	"tactus/cmd/tactus/live"
	"tactus/cmd/tactus/realtime"
	"tactus/cmd/tactus/senders"
	"tactus/cmd/tactus/usage"
	"tactus/engine"
	"tactus/protocol/midi"
	"tactus/shows"
)

// Aligner flashes a fixture by a session and sends a click that is later by the
// lead. What one sees and hears is the distance of the two, so the light stays
// on the grid of frames while the click moves, to the microsecond and at once.
type Aligner struct {
	session   *live.Session
	show      *shows.Show
	exact     bool
	universes []int
	tempo     clock.Tempo
	lead      atomic.Int64 // clock.Time
	on, off   midi.Message
	port      *midi.Output // or nil
	Bell      io.Writer    // or nil
	clicked   func(clock.Time)
}

// New opens a session that flashes the fixtures.
func New(show *shows.Show, f *Options, log zerolog.Logger) (*Aligner, error) {
	only, universes, err := flashingShow(show, f.Fixtures, f.Tempo)
	if err != nil {
		return nil, err
	}
	o := f.Options
	o.Clock, o.Lead, o.Rise, o.Health = "internal", 0, 0, time.Hour
	if o.Protocol != "" {
		for i := range only.Outputs.Universes { // the others stay where they are: nowhere
			if !slices.Contains(universes, i) && o.Protocol != senders.Virtual {
				return nil, usage.Errorf("--protocol %s would send every universe: want virtual", o.Protocol)
			}
		}
	}
	s, err := live.New(only, &o, log)
	if err != nil {
		return nil, err
	}
	a := &Aligner{session: s, show: show, exact: o.Exact, universes: universes, on: midi.NewNoteOn(f.Channel, f.Note, 100), off: midi.NewNoteOff(f.Channel, f.Note)}
	a.lead.Store(int64(f.Lead))
	if !f.LeadSaid {
		a.lead.Store(int64(show.Outputs.Universes[universes[0]].Lead))
	}
	a.tempo = clock.BPM(f.Tempo)
	return a, nil
}

// OpenClick opens the MIDI output that clicks go to.
func (a *Aligner) OpenClick(name string) (err error) {
	a.port, err = midi.OpenOutput(name, midi.OutputOptions{Base: a.session.Base(), Report: a.session.PortChanged})
	return err
}

// begin replaces what the session was to start with, so that both know when the
// first beat is. It returns the clock that the clicks go by.
func (a *Aligner) begin() *clock.Transport {
	start := clock.Event{At: a.session.Base().Now(), Kind: clock.Start}
	a.session.StartWith(engine.Input{Command: engine.Command{Kind: engine.NextSong}}, engine.Input{Event: start})
	t := clock.NewTransport(clock.Config{Internal: a.tempo, Lead: clock.LeadInternal})
	t.Handle(start)
	return t
}

// noteLength is how long a click's note is held.
const noteLength = 50 * clock.Millisecond

// sendClicks sends one click a beat until ctx ends. Whatever the lead, each beat has
// one; a beat that was missed has none.
func (a *Aligner) sendClicks(ctx context.Context, t *clock.Transport) {
	base := a.session.Base()
	nap := realtime.NewPlainSleeper(base)
	if a.exact {
		runtime.LockOSThread()
		defer runtime.UnlockOSThread()
		nap = realtime.NewSleeper(base)
	}
	// until waits for a moment that may move.
	until := func(moment func() clock.Time) bool {
		for base.Now() < moment() {
			if ctx.Err() != nil {
				return false
			}
			nap.Wait(min(moment(), base.Now()+10*clock.Millisecond))
		}
		return true
	}
	for n := clock.Beat(0); ; n++ {
		beat, ok := t.When(n * clock.Quarter)
		if !ok {
			return
		}
		if beat+clock.Time(a.lead.Load())+noteLength < base.Now() {
			continue
		}
		if !until(func() clock.Time { return beat + clock.Time(a.lead.Load()) }) {
			return
		}
		a.click()
		off := base.Now() + noteLength
		whole := until(func() clock.Time { return off })
		if a.port != nil {
			a.port.Send(a.off)
		}
		if !whole {
			return
		}
	}
}

func (a *Aligner) click() {
	if a.clicked != nil {
		a.clicked(a.session.Base().Now())
	}
	if a.port != nil {
		a.port.Send(a.on)
	}
	if a.Bell != nil {
		io.WriteString(a.Bell, "\a")
	}
}

// Run flashes and clicks until ctx ends; with keys, until Enter or q on in. Then,
// but for q, it prints the lead to out.
func (a *Aligner) Run(ctx context.Context, cancel func(), keys bool, in io.Reader, out, errOut io.Writer) error {
	var group sync.WaitGroup
	side, stop := context.WithCancel(context.Background())
	t := a.begin()
	if a.port != nil {
		group.Go(func() { _ = a.port.Run(side) }) // ends with side
	}
	clicking, quiet := context.WithCancel(ctx)
	defer quiet()
	var clicks sync.WaitGroup
	clicks.Go(func() { a.sendClicks(clicking, t) })
	told := true
	if keys {
		if file, ok := in.(*os.File); ok && term.IsTerminal(int(file.Fd())) {
			if old, err := term.MakeRaw(int(file.Fd())); err == nil {
				defer func() { _ = term.Restore(int(file.Fd()), old) }()
			}
		}
		told = false
		done := make(chan bool, 1)
		go func() { done <- a.readKeys(in, errOut) }()
		group.Go(func() {
			select {
			case told = <-done:
				cancel()
			case <-side.Done():
			}
		})
	}
	err := a.session.Run(ctx)
	clicks.Wait()
	stop()
	group.Wait()
	if told {
		a.printLead(out)
	}
	return err
}

// printLead prints what to write in the rig's file.
func (a *Aligner) printLead(w io.Writer) {
	lead := clock.Time(a.lead.Load()) / clock.Millisecond
	for _, i := range a.universes {
		fmt.Fprintf(w, "\r\nIn rig.yaml, under universe %q:\r\n    lead: %d ms\r\n", a.show.Outputs.Universes[i].Name, lead)
	}
}

// readKeys moves the lead until Enter (true) or q (false).
func (a *Aligner) readKeys(in io.Reader, out io.Writer) (enter bool) {
	r := bufio.NewReader(in)
	sequence := "" // of a key that sends more than one byte, as far as it has come
	for {
		fmt.Fprintf(out, "\rlead %d ms   ", a.lead.Load()/int64(clock.Millisecond))
		k, err := r.ReadByte()
		if err != nil {
			return false
		}
		if k == 0x1B {
			sequence = ""
		}
		switch sequence += string(rune(k)); sequence {
		case "\x1b", "\x1b[", pageUp[:3], pageDown[:3]:
			continue // more may come, or was it Escape alone: any key is heard next
		case pageUp:
			a.moveLead(10 * time.Millisecond)
		case pageDown:
			a.moveLead(-10 * time.Millisecond)
		}
		sequence = ""
		switch k {
		case '+', '=':
			a.moveLead(time.Millisecond)
		case '-':
			a.moveLead(-time.Millisecond)
		case '\r', '\n':
			return true
		case 'q', 3: // Ctrl-C, in a terminal that passes keys on
			return false
		}
	}
}

// What terminals send for two keys (ECMA-48 form; from memory).
const (
	pageUp   = "\x1b[5~"
	pageDown = "\x1b[6~"
)

// moveLead changes the lead within what run takes.
func (a *Aligner) moveLead(by time.Duration) {
	a.lead.Store(min(max(a.lead.Load()+int64(by), 0), int64(live.MostLead)))
}
