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

// messages sends what cues send besides light, to a MIDI output and to a receiver of
// OSC. Each has a queue and a goroutine, so that the loop never waits.
type messages struct {
	midi *midi.Output // or nil
	osc  *osc.Sender  // or nil
	// Messages lost, as logged.
	midiLogged, oscLogged uint64
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
		m.warnMissing(show.Program, log)
	}
	if m.midi == nil && m.osc == nil {
		return nil, nil
	}
	return m, nil
}

// warnMissing warns when cues send what has nowhere to go.
func (m *messages) warnMissing(p *engine.Program, log zerolog.Logger) {
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

// Deliver queues a message of a cue. It does not block and does not allocate.
func (m *messages) Deliver(s *engine.Send) {
	if s.To == engine.ToOSC {
		if m.osc != nil {
			m.osc.Send(s) // counts messages that its queue has no room for
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

// reportLost logs how many messages were lost since the last time, each kind by its name.
func (m *messages) reportLost(log zerolog.Logger) {
	if m.midi != nil {
		if lost := m.midi.Stats().Lost; lost > m.midiLogged {
			log.Warn().Uint64("messages", lost-m.midiLogged).Msg("MIDI of cues lost: the output did not take it")
			m.midiLogged = lost
		}
	}
	if m.osc != nil {
		if lost := m.osc.Stats().Lost; lost > m.oscLogged {
			log.Warn().Uint64("messages", lost-m.oscLogged).Msg("OSC of cues lost: the network or its receiver did not take it")
			m.oscLogged = lost
		}
	}
}

// openMessages opens what there is besides light: messages out, OSC in.
func (s *Session) openMessages(f *Options) (err error) {
	if s.messages, err = openMessages(s.show, f, s.base, s.log, s.PortChanged); err != nil {
		return err
	}
	s.oscInput, err = openOSCInput(f.OSCIn, s.show.Program, s.base, s.shares.osc, s.log)
	s.translator.oscInput = s.oscInput
	return err
}

// sends returns the receiver of cues' messages; nil: there is none.
func (s *Session) sends() engine.Messages {
	if s.messages == nil {
		return nil
	}
	return s.messages
}

func (s *Session) runMessages(ctx context.Context, group *sync.WaitGroup) {
	if s.messages != nil {
		group.Go(func() { s.messages.run(ctx) })
	}
	if s.oscInput != nil {
		group.Go(func() { s.oscInput.run(ctx, s.log) })
	}
	if s.levelInputs != nil {
		group.Go(func() { s.levelInputs.run(ctx) })
	}
}

func (s *Session) reportMessages() {
	if s.messages != nil {
		s.messages.reportLost(s.log)
	}
	if s.oscInput != nil {
		s.oscInput.report(s.log)
	}
	s.shares.report(s.log)
	s.levelInputs.report()
}
