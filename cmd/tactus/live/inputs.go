package live

import (
	"slices"

	"tactus/cmd/tactus/usage"
	"tactus/protocol/midi"
	"tactus/shows"
	"tactus/shows/smf"
)

// openPorts opens what --midi names. The first of them is the clock's.
func (s *Session) openPorts(f *Options) error {
	for i, spec := range f.MIDI {
		if slices.Contains(f.MIDI[:i], spec) {
			return usage.Errorf("--midi %q is given twice: each would get a part of what is sent", spec)
		}
		port, err := s.openPort(spec, uint8(i), f.Repeat)
		if err != nil {
			return err
		}
		s.ports = append(s.ports, port)
	}
	return nil
}

func (s *Session) openPort(spec string, number uint8, repeat bool) (midi.Port, error) {
	o := midi.Options{Number: number, Loop: repeat, Preroll: 4}
	switch spec {
	case "demo":
		o.FS = shows.Demo()
		return midi.Open("file:"+shows.DemoMIDI, o)
	case "plan":
		src, err := smf.Write(s.show.Program)
		if err != nil {
			return nil, err
		}
		return midi.NewFilePort("plan", src, o)
	}
	return midi.Open(spec, o)
}

// inputChanged notes that an input came or went, and logs it.
func (s *Session) inputChanged(st midi.Status) {
	s.registry.update(st)
	s.PortChanged(st)
}

// PortChanged logs a port that came or went.
func (s *Session) PortChanged(st midi.Status) {
	if st.Up {
		s.log.Info().Str("port", st.Port).Msg("MIDI port open")
		return
	}
	s.log.Warn().Str("port", st.Port).Err(st.Err).Msg("MIDI port lost; the tempo carries on, and the port is tried again")
}
