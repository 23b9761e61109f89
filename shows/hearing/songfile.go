package hearing

import (
	"fmt"
	"math"

	"tactus/clock"
	"tactus/engine"
	"tactus/shows/language"
	"tactus/shows/smf"
)

// Import returns what was heard as a song to be written, with its guesses marked as such.
func (h *Heard) Import(name string) *smf.Import {
	first := h.Readings[0]
	m := &smf.Import{Song: engine.Song{Name: smf.SongName(name), Program: -1, Meter: engine.Meter{Upper: uint8(first.Upper), Lower: uint8(first.Lower)}}}
	m.Head = fmt.Sprintf("# Heard in a recording: %s, bar 1 begins %.2f s into it. Names and energies are\n# guesses, and so are the boundaries: listen, and put yours.\n",
		language.Count(len(h.Sections), "section"), h.Lines[0])
	starts := h.barStarts(&m.Song)
	for i := range h.Pieces {
		p := &h.Pieces[i]
		tempo := m.Song.MeterAt(starts[p.Bar]).Quarters(clock.BPM(p.BPM()))
		if i == 0 {
			m.Song.Tempo = tempo
		} else {
			m.Song.Tempos = append(m.Song.Tempos, engine.TempoChange{At: starts[p.Bar], Tempo: tempo})
		}
	}
	h.appendSections(m, starts)
	return m
}

// barStarts returns where the bars begin, and notes the meters of bars with other beats.
func (h *Heard) barStarts(s *engine.Song) []clock.Beat {
	at, meter := clock.Beat(0), s.Meter
	starts := []clock.Beat{0}
	for i, beats := range h.BarBeats {
		m := s.Meter
		m.Upper = uint8(beats * int(s.Meter.Upper) / h.Readings[0].beats())
		if m != meter {
			if i == 0 {
				s.Meter = m
			} else {
				s.Meters = append(s.Meters, engine.MeterChange{At: at, Meter: m})
			}
			meter = m
		}
		at += m.Bar()
		starts = append(starts, at)
	}
	return starts
}

func (h *Heard) appendSections(m *smf.Import, starts []clock.Beat) {
	for i := range h.Sections {
		x := &h.Sections[i]
		key, name := x.Kind.Name(), h.Name(i)
		m.Song.Sections = append(m.Song.Sections, engine.Section{
			Name: name, Start: starts[x.First], Length: starts[x.First+x.Bars] - starts[x.First], Energy: int8(math.Round(x.Energy)), Note: engine.NoNote,
		})
		m.Marks = append(m.Marks, smf.Mark{Key: key, Kind: x.Kind, Reason: h.Reason(i)})
	}
}

// Reason says in a few words why a section is one, and what its energy comes from.
func (h *Heard) Reason(i int) string {
	x := &h.Sections[i]
	now := fmt.Sprintf("%.0f LUFS, %s", x.Parts.Loudness, x.Words)
	for k := range h.Sections[:i] {
		if h.Sections[k].Group == x.Group {
			return fmt.Sprintf("like bar %d on; %s", h.Sections[k].First+1, now)
		}
	}
	if i == 0 {
		return "the beginning; " + now
	}
	return "other chords or sounds than before; " + now
}
