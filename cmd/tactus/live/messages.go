package live

import (
	"context"
	"net/netip"
	"sync"

	"github.com/rs/zerolog"

	"tactus/clock"
	"tactus/cmd/tactus/usage"
	"tactus/engine"
	"tactus/protocol/midi"
	"tactus/protocol/osc"
	"tactus/shows"
)

// messages takes what cues send besides light to a MIDI output and to a
// receiver of OSC. Both have a queue and a goroutine of their own, so that the
// loop never waits for either.
type messages struct {
	midi *midi.Output // or nil
	osc  *osc.Sender  // or nil
	told uint64       // of what was lost
}

// openMessages opens what the flags name, and in a run what the show names. It
// returns nil when there is neither.
func openMessages(show *shows.Show, f *Options, base clock.Base, log zerolog.Logger, report func(midi.Status)) (*messages, error) {
	port, to := f.MIDIOut, netip.AddrPort{}
	if f.Messages {
		to = show.Outputs.Messages.OSC
		if port == "" {
			port = show.Outputs.Messages.MIDI
		}
	}
	if f.OSCTo != "" {
		var err error
		if to, err = netip.ParseAddrPort(f.OSCTo); err != nil || to.Port() == 0 {
			return nil, usage.Errorf("--osc-to %q: want an address and a port, like 127.0.0.1:9000", f.OSCTo)
		}
	}
	m := &messages{}
	var err error
	if port != "" {
		if m.midi, err = midi.OpenOutput(port, midi.OutputOptions{Base: base, Report: report}); err != nil {
			return nil, err
		}
		log.Info().Str("port", port).Msg("MIDI out, for what cues send")
	}
	if to.IsValid() {
		if m.osc, err = osc.NewSender(to); err != nil {
			return nil, err
		}
		log.Info().Stringer("to", to).Msg("OSC out, for what cues send")
	}
	if f.Messages {
		m.wanting(show.Program, log)
	}
	if m.midi == nil && m.osc == nil {
		return nil, nil
	}
	return m, nil
}

// wanting tells once when there is no way for what cues send.
func (m *messages) wanting(p *engine.Program, log zerolog.Logger) {
	var midiSends, oscSends int
	for i := range p.Sends {
		switch {
		case p.Sends[i].To == engine.ToMIDI && m.midi == nil:
			midiSends++
		case p.Sends[i].To == engine.ToOSC && m.osc == nil:
			oscSends++
		}
	}
	if midiSends > 0 {
		log.Warn().Int("messages", midiSends).Msg("cues send MIDI, but nothing says where: --midi-out, or \"sends to\" in show.yaml")
	}
	if oscSends > 0 {
		log.Warn().Int("messages", oscSends).Msg("cues send OSC, but nothing says where: --osc-to, or \"sends to\" in show.yaml")
	}
}

// Deliver queues what a cue sends. It neither waits nor allocates.
func (m *messages) Deliver(s *engine.Send) {
	if s.To == engine.ToOSC {
		if m.osc != nil {
			m.osc.Send(s) // counts what it has no room for
		}
		return
	}
	if m.midi == nil {
		return
	}
	for b := s.Bytes; len(b) >= 2; {
		one := midi.Message{Len: 3}
		if b[0]&0xF0 == 0xC0 { // a program change has one octet of data (MIDI 1.0, Table I)
			one.Len = 2
		}
		b = b[copy(one.Bytes[:one.Len], b):]
		m.midi.Send(one)
	}
}

// run writes what is delivered until ctx ends, then what still waits.
func (m *messages) run(ctx context.Context) {
	var group sync.WaitGroup
	if m.midi != nil {
		group.Go(func() { _ = m.midi.Run(ctx) }) // its only error is the end of ctx
	}
	if m.osc != nil {
		group.Go(func() { _ = m.osc.Run(ctx) })
	}
	group.Wait()
}

// tell logs what was lost since the last time.
func (m *messages) tell(log zerolog.Logger) {
	lost := uint64(0)
	if m.midi != nil {
		lost += m.midi.Stats().Lost
	}
	if m.osc != nil {
		lost += m.osc.Stats().Lost
	}
	if lost > m.told {
		log.Warn().Uint64("messages", lost-m.told).Msg("lost of what cues send: the MIDI output or the network did not take it")
		m.told = lost
	}
}

// openBeside opens what the session has beside light: messages out, OSC in.
func (s *Session) openBeside(f *Options) (err error) {
	if s.beside, err = openMessages(s.Show, f, s.Base, s.log, s.PortChanged); err != nil {
		return err
	}
	s.remote, err = openRemote(f.OSCIn, s.Show.Program, s.Base, s.Input, s.log)
	s.turns.remote = s.remote
	return err
}

// sends returns who takes what cues send; nil is nobody.
func (s *Session) sends() engine.Messages {
	if s.beside == nil {
		return nil
	}
	return s.beside
}

func (s *Session) runBeside(ctx context.Context, group *sync.WaitGroup) {
	if s.beside != nil {
		group.Go(func() { s.beside.run(ctx) })
	}
	if s.remote != nil {
		group.Go(func() { s.remote.run(ctx, s.log) })
	}
}

func (s *Session) tellBeside() {
	if s.beside != nil {
		s.beside.tell(s.log)
	}
	if s.remote != nil {
		s.remote.tell(s.log)
	}
}
