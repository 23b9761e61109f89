package main

import (
	"slices"
	"tactus/cmd/tactus/usage"
	"tactus/protocol/midi"
	"tactus/shows"
	"tactus/shows/smf"
)

// openPorts opens what --midi names. The first of them is the clock's.
func (s *session) openPorts(f *sessionOptions) error {
	for i, spec := range f.midi {
		if slices.Contains(f.midi[:i], spec) {
			return usage.Errorf("--midi %q is given twice: each would get a part of what is sent", spec)
		}
		port, err := s.openPort(spec, uint8(i), f.repeat)
		if err != nil {
			return err
		}
		s.ports = append(s.ports, port)
	}
	return nil
}

func (s *session) openPort(spec string, number uint8, repeat bool) (midi.Port, error) {
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
func (s *session) inputChanged(st midi.Status) {
	s.book.changed(st)
	s.portChanged(st)
}

// portChanged logs a port that came or went.
func (s *session) portChanged(st midi.Status) {
	if st.Up {
		s.log.Info().Str("port", st.Port).Msg("MIDI port open")
		return
	}
	s.log.Warn().Str("port", st.Port).Err(st.Err).Msg("MIDI port lost; the tempo carries on, and the port is tried again")
}
