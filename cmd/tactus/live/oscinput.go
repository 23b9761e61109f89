package live

import (
	"context"
	"errors"
	"fmt"
	"net/netip"
	"strings"
	"sync/atomic"

	"github.com/rs/zerolog"

	"tactus/clock"
	"tactus/cmd/tactus/usage"
	"tactus/engine"
	"tactus/engine/commands"
	"tactus/protocol/osc"
)

// oscInput receives commands by OSC, in a goroutine of its own. Names become indexes here:
// the loop gets values, as it does from MIDI.
type oscInput struct {
	receiver *osc.Receiver
	list     []commands.Address
	program  atomic.Pointer[engine.Program]
	timeBase clock.Base
	inputs   chan<- engine.Input

	bad, dropped atomic.Uint64
	last         atomic.Pointer[string] // what was wrong with the last bad message
	reported     uint64                 // messages of all kinds of fault, as logged
}

// openOSCInput listens on an address, host and port or a port of this computer; nil if it is empty.
func openOSCInput(on string, p *engine.Program, base clock.Base, to chan<- engine.Input, log zerolog.Logger) (*oscInput, error) {
	if on == "" {
		return nil, nil
	}
	if !strings.Contains(on, ":") {
		on = "127.0.0.1:" + on
	}
	at, err := netip.ParseAddrPort(on)
	if err != nil {
		return nil, usage.Errorf("--osc-listen %q: want a port, like 9001, or an address and a port, like 10.0.0.5:9001", on)
	}
	receiver, err := osc.NewReceiver(at)
	if err != nil {
		return nil, err
	}
	log.Info().Stringer("at", receiver.Addr()).Msg("OSC in")
	if !receiver.Addr().Addr().IsLoopback() {
		log.Warn().Msg("OSC has no password: whoever reaches that port can move the light")
	}
	r := &oscInput{receiver: receiver, list: commands.Addresses(), timeBase: base, inputs: to}
	r.program.Store(p)
	return r, nil
}

// run takes packets until ctx ends.
func (r *oscInput) run(ctx context.Context, log zerolog.Logger) {
	err := r.receiver.Run(ctx, func(e osc.Element) {
		now := r.timeBase.Now()
		e.Each(func(m *osc.Message) { r.receive(m, now) })
	})
	if err != nil && !errors.Is(err, context.Canceled) {
		log.Error().Err(err).Msg("OSC input stopped after an error; the show goes on")
	}
}

// receive runs the command of a message, for every address that matches its pattern
// (OSC 1.0, OSC Message Dispatching and Pattern Matching). A bundle with a later time
// is done at once.
func (r *oscInput) receive(m *osc.Message, now clock.Time) {
	known := false
	for i := range r.list {
		a := &r.list[i]
		if !osc.Match(m.Address, commands.OSC+a.Path) {
			continue
		}
		known = true
		in, err := a.Parse(r.program.Load(), m.Args)
		switch {
		case errors.Is(err, commands.ErrReleased):
		case err != nil:
			r.recordBad(commands.OSC+a.Path, err)
		default:
			in.Event.At = now
			select {
			case r.inputs <- in:
			default:
				r.dropped.Add(1)
			}
		}
	}
	if !known {
		r.recordBad(fmt.Sprintf("%.60q", m.Address), errors.New("no such address"))
	}
}

func (r *oscInput) recordBad(where string, err error) {
	words := fmt.Sprintf("%s: %v", where, err)
	r.last.Store(&words)
	r.bad.Add(1)
}

// report logs how many messages were of no use since the last time.
func (r *oscInput) report(log zerolog.Logger) {
	bad := r.bad.Load() + r.receiver.Refused() + r.dropped.Load()
	if bad == r.reported {
		return
	}
	e := log.Warn().Uint64("messages", bad-r.reported).Uint64("not_osc", r.receiver.Refused()).Uint64("dropped", r.dropped.Load())
	if last := r.last.Load(); last != nil {
		e = e.Str("last", *last)
	}
	e.Msg("OSC that could not be used; the light stays")
	r.reported = bad
}
