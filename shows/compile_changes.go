package shows

import (
	"fmt"
	"slices"
	"strconv"

	"tactus/clock"
	"tactus/engine"
	"tactus/shows/language"
	"tactus/shows/position"
)

// change is a change of tempo or meter, from a section or from the song's list of
// changes.
type change struct {
	section      string
	bar, beat    int // from 1
	tempo, meter *language.Value
	place        *language.Value // where it is written
	used         bool
}

// changesOf reads a song's list of changes.
func changesOf(v *language.Value) (all []*change) {
	for _, item := range v.Get("changes").Items() {
		at := item.Get("at")
		if at == nil {
			continue
		}
		c := &change{section: at.Text, bar: 1, beat: 1, tempo: item.Get("tempo"), meter: item.Get("meter"), place: at}
		if m := position.Bar.FindStringSubmatch(at.Text); m != nil {
			c.section = m[1]
			c.bar, _ = strconv.Atoi(m[2])
			if m[3] != "" {
				c.beat, _ = strconv.Atoi(m[3])
			}
		}
		all = append(all, c)
	}
	return all
}

// ownChange returns a section's own tempo and meter as a change at its first bar.
func ownChange(name string, key, v *language.Value) *change {
	c := &change{section: name, bar: 1, beat: 1, tempo: v.Get("tempo"), meter: v.Get("meter"), place: key}
	if c.tempo == nil && c.meter == nil {
		return nil
	}
	return c
}

// addChanges adds to the song the changes of a new section, which starts at the song's
// end and has a number of bars. It returns the section's length.
func (c *compiler) addChanges(s *engine.Song, name string, bars int, changes []*change) clock.Beat {
	start := s.Length()
	at := start
	m := s.MeterAt(at)
	for bar := 1; bar <= bars; bar++ {
		var here []*change
		for _, x := range changes {
			if x.section == name && x.bar == bar {
				here = append(here, x)
			}
		}
		for _, x := range here {
			x.used = true
			if x.meter != nil && x.beat == 1 {
				m = x.meter.Meter()
				c.newMeter(s, at, m, x)
			} else if x.meter != nil {
				c.At(x.place, "the meter can change only where a bar begins", "beat 1", "")
			}
		}
		for _, x := range here {
			if x.beat > m.Beats() {
				c.At(x.place, fmt.Sprintf("a bar of %s has no beat %d", m, x.beat), fmt.Sprintf("it has %d", m.Beats()), "")
			} else if x.tempo != nil {
				c.newTempo(s, at+clock.Beat(x.beat-1)*m.Beat(), m, x)
			}
		}
		at += m.Bar()
	}
	return at - start
}

func (c *compiler) newMeter(s *engine.Song, at clock.Beat, m engine.Meter, x *change) {
	last := len(s.Meters) - 1
	switch {
	case at == 0:
		s.Meter = m
	case last >= 0 && s.Meters[last].At == at:
		c.At(x.place, "the meter changes here already", "one change of meter at a place", "")
	case m != s.MeterAt(at):
		s.Meters = append(s.Meters, engine.MeterChange{At: at, Meter: m})
	}
}

// newTempo adds a change of tempo in order of time; the changes of a bar may be
// written in any order.
func (c *compiler) newTempo(s *engine.Song, at clock.Beat, m engine.Meter, x *change) {
	tempo := c.quarters(x.tempo, m)
	i := len(s.Tempos)
	for i > 0 && s.Tempos[i-1].At > at {
		i--
	}
	switch {
	case at == 0:
		s.Tempo = tempo
	case i > 0 && s.Tempos[i-1].At == at:
		c.At(x.place, "the tempo changes here already", "one change of tempo at a place", "")
	default:
		s.Tempos = slices.Insert(s.Tempos, i, engine.TempoChange{At: at, Tempo: tempo})
	}
}

// quarters converts beats a minute in a meter to quarter notes a minute.
func (c *compiler) quarters(t *language.Value, m engine.Meter) clock.Tempo {
	amount, _ := language.Measure(t.Text)
	q := m.Quarters(clock.BPM(language.Float(amount)))
	if q < clock.MinTempo || q > clock.MaxTempo {
		c.At(t, fmt.Sprintf("%s in %s are %.4g quarter notes a minute", t.Text, m, q.BPM()),
			fmt.Sprintf("%.4g to %.4g", clock.MinTempo.BPM(), clock.MaxTempo.BPM()), "")
		return clock.BPM(120)
	}
	return q
}

// unusedChanges reports changes whose place is not in the song.
func (c *compiler) unusedChanges(s *engine.Song, changes []*change) {
	for _, x := range changes {
		if x.used {
			continue
		}
		section, end, fault := position.FindSection(s, x.section)
		switch {
		case fault != nil:
			c.placeFault(x.place, fault)
		case end:
			c.At(x.place, "a change begins with a bar", "a place such as chorus 2, bar 3", "")
		default:
			c.At(x.place, fmt.Sprintf("%s has no bar %d", s.Sections[section].Name, x.bar), fmt.Sprintf("it has %d", s.SectionBars(section)), "")
		}
	}
}
