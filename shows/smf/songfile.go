package smf

import (
	"fmt"
	"strconv"
	"strings"

	"tactus/clock"
	"tactus/engine"
	"tactus/shows/language"
)

// AppendTo appends the song as a song file of a show. Its energies are guesses, and it
// has no looks or cues.
func (m *Import) AppendTo(b []byte) []byte {
	s := &m.Song
	head := "# From a MIDI file: %d sections, %s as planned. Energies are guesses by name:\n# put yours. The colours are the show's own unless the song gets a palette.\n"
	if len(m.Proposed()) > 0 {
		head = "# Proposed from the notes of a MIDI file without markers: %d sections, %s as planned.\n# Listen, name them and put the energies right. The colours are the show's own unless\n# the song gets a palette.\n"
	}
	if m.Head != "" {
		b = append(b, m.Head...)
	} else {
		b = fmt.Appendf(b, head, len(s.Sections), language.Minutes(s.TimeAt(s.Length())))
	}
	b = fmt.Appendf(b, "song: %s\ntempo: %s\nmeter: %s\nsections:\n", language.Quote(s.Name), BPM(s.Tempo, s.Meter), s.Meter)
	for i := range s.Sections {
		b = m.appendSection(b, i)
	}
	return m.appendChanges(b)
}

func (m *Import) appendSection(b []byte, i int) []byte {
	return append(append(append(b, "  "...), m.SectionLine(i)...), '\n')
}

// SectionLine returns the line of a section in a song file, without indent and line end:
// "- verse: {bars: 8, energy: 4} # a guess".
func (m *Import) SectionLine(i int) string {
	s, c, mark := &m.Song, &m.Song.Sections[i], &m.Marks[i]
	b := fmt.Appendf(nil, "- %s: {bars: %d, energy: %d", language.Quote(mark.Key), s.SectionBars(int32(i)), c.Energy)
	for _, x := range s.Tempos {
		if x.At == c.Start {
			b = fmt.Appendf(b, ", tempo: %s", BPM(x.Tempo, s.MeterAt(x.At)))
		}
	}
	for _, x := range s.Meters {
		if x.At == c.Start {
			b = fmt.Appendf(b, ", meter: %s", x.Meter)
		}
	}
	b = append(b, "} # "...)
	if mark.Reason != "" {
		return string(append(b, "proposed: "+mark.Reason...))
	}
	if mark.Kind == Unknown {
		b = append(b, "what this is was not understood; energy "...)
	}
	b = append(b, "a guess"...)
	if stem, _ := splitName(mark.Key); mark.Text != "" && mark.Text != mark.Key && mark.Text != c.Name && stem != mark.Text {
		b = fmt.Appendf(b, "; marker %s", strconv.Quote(mark.Text))
	}
	return string(b)
}

// appendChanges appends the tempo and meter changes inside sections, in order.
// appendSection writes the changes at the start of a section.
func (m *Import) appendChanges(b []byte) []byte {
	s := &m.Song
	first := true
	tempo, meter := s.Tempos, s.Meters
	for len(tempo) > 0 || len(meter) > 0 {
		at := clock.Beat(1 << 62)
		if len(tempo) > 0 {
			at = tempo[0].At
		}
		if len(meter) > 0 {
			at = min(at, meter[0].At)
		}
		line := "  - {at: " + placeOf(s, at)
		if len(tempo) > 0 && tempo[0].At == at {
			line += ", tempo: " + BPM(tempo[0].Tempo, s.MeterAt(at))
			tempo = tempo[1:]
		}
		if len(meter) > 0 && meter[0].At == at {
			line += ", meter: " + meter[0].Meter.String()
			meter = meter[1:]
		}
		if starts(s, at) {
			continue
		}
		if first {
			b = append(b, "changes:\n"...)
		}
		first = false
		b = append(b, line+"}\n"...)
	}
	return b
}

// SameTempo reports whether a MIDI file holds two tempos as the same number of
// microseconds a quarter note.
func SameTempo(a, b clock.Tempo) bool { return microsPerQuarter(a) == microsPerQuarter(b) }

func starts(s *engine.Song, at clock.Beat) bool {
	for i := range s.Sections {
		if s.Sections[i].Start == at {
			return true
		}
	}
	return false
}

// placeOf prints a place as song files write it: "bridge, bar 5 beat 2".
func placeOf(s *engine.Song, at clock.Beat) string {
	section := 0
	for section+1 < len(s.Sections) && s.Sections[section+1].Start <= at {
		section++
	}
	bar, start, m := s.BarAt(at)
	place := fmt.Sprintf("%s, bar %d", s.Sections[section].Name, bar+1)
	if beat := (at - start) / m.Beat(); beat > 0 {
		place += fmt.Sprintf(" beat %d", beat+1)
	}
	return strconv.Quote(place)
}

// BPM prints a tempo in the beats of a meter, to a thousandth of a BPM: "96.5 bpm".
func BPM(t clock.Tempo, m engine.Meter) string {
	text := strconv.FormatFloat(m.PerBeat(t).BPM(), 'f', 3, 64)
	return strings.TrimSuffix(strings.TrimRight(text, "0"), ".") + " bpm"
}
