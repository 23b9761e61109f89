package merge

import (
	"fmt"
	"slices"
	"strings"

	yaml "go.yaml.in/yaml/v4"

	"tactus/clock"
	"tactus/engine"
	"tactus/shows/language"
	"tactus/shows/position"
	"tactus/shows/smf"
)

// editChanges edits the list of changes of tempo and meter: lines that are right stay, the
// others go, and what is missing is added. Changes with a section are in its line.
func (m *merger) editChanges() error {
	_, value := entryOf(m.root, "changes")
	if value != nil && (value.Kind != yaml.SequenceNode || value.Style&yaml.FlowStyle != 0) {
		return m.byHand(value.Line-1, "the changes do not stand one a line; write each on a line of its own, starting with a dash")
	}
	l, err := m.listOf(m.root, "changes")
	if err != nil {
		return err
	}
	type kept struct {
		at   clock.Beat
		line int // the last of the item
	}
	stay := []kept{}
	for _, it := range l.items {
		beat, ok, err := m.keepChange(it)
		if err != nil {
			return err
		}
		if ok {
			stay = append(stay, kept{beat, it.to - 1})
			continue
		}
		for i := it.from; i < it.to; i++ {
			m.drop[i] = true
		}
	}
	missing := m.missing()
	if l.head < 0 && len(missing) > 0 {
		m.below[-1] = append(m.below[-1], "changes:"+m.CR) // after the sections
	}
	for _, at := range missing {
		line := l.head
		for _, k := range stay {
			if k.at < at {
				line = k.line
			}
		}
		m.below[line] = append(m.below[line], strings.Repeat(" ", l.dash)+m.changeLine(at)+m.CR)
	}
	if len(missing) == 0 {
		m.closeIfEmpty(&l)
	}
	return nil
}

// keepChange reports whether an item of the list is right, at its place now.
func (m *merger) keepChange(it item) (clock.Beat, bool, error) {
	_, place := entryOf(it.node, "at")
	_, tempo := entryOf(it.node, "tempo")
	_, meter := entryOf(it.node, "meter")
	now, gone := m.newPlace(place.Value)
	if gone != "" {
		return 0, false, nil
	}
	at, fault := position.Find(&m.now, now)
	if fault != nil {
		return 0, false, nil
	}
	wantTempo, tempoChanges := tempoFrom(&m.now, at)
	wantMeter, meterChanges := meterFrom(&m.now, at)
	if tempo != nil && !smf.SameTempo(m.tempoOf(tempo.Value, at), wantTempo) || tempo == nil && tempoChanges && !m.starts(at) ||
		meter != nil && meter.Value != wantMeter.String() || meter == nil && meterChanges && !m.starts(at) {
		return 0, false, nil
	}
	m.tempoSaid[at] = m.tempoSaid[at] || tempo != nil
	m.meterSaid[at] = m.meterSaid[at] || meter != nil
	if now != place.Value {
		return at, true, m.replaceScalar(place, quoted(place, now))
	}
	return at, true, nil
}

// quoted writes a text as it was written before, in quotes or without.
func quoted(n *yaml.Node, text string) string {
	if n.Style&(yaml.DoubleQuotedStyle|yaml.SingleQuotedStyle) == 0 {
		return language.Quote(text)
	}
	return fmt.Sprintf("%q", text)
}

// missing lists the places inside sections with a change that the list does not have.
func (m *merger) missing() (list []clock.Beat) {
	for _, c := range m.now.Tempos {
		if !m.tempoSaid[c.At] && !m.starts(c.At) {
			list = append(list, c.At)
		}
	}
	for _, c := range m.now.Meters {
		if !m.meterSaid[c.At] && !m.starts(c.At) {
			list = append(list, c.At)
		}
	}
	slices.Sort(list)
	return slices.Compact(list)
}

func (m *merger) starts(at clock.Beat) bool {
	return slices.ContainsFunc(m.now.Sections, func(s engine.Section) bool { return s.Start == at })
}

// changeLine is the line of the changes at a place.
func (m *merger) changeLine(at clock.Beat) string {
	place := position.Name(&m.now, at)
	line := "- {at: " + language.Quote(strings.TrimSuffix(place, " beat 1"))
	if tempo, ok := tempoFrom(&m.now, at); ok {
		line += ", tempo: " + smf.BPM(tempo, m.now.MeterAt(at))
	}
	if meter, ok := meterFrom(&m.now, at); ok {
		line += ", meter: " + meter.String()
	}
	return line + "}"
}

// sayChanges says which changes of tempo and meter are new or gone.
func (m *merger) sayChanges() {
	name := func(at clock.Beat) string {
		place := strings.TrimSuffix(position.Name(&m.old, at), " beat 1")
		if now, gone := m.newPlace(place); gone == "" {
			return now
		}
		return place
	}
	was := describeChanges(&m.old, name)
	now := describeChanges(&m.now, func(at clock.Beat) string { return strings.TrimSuffix(position.Name(&m.now, at), " beat 1") })
	for _, c := range was {
		if !slices.Contains(now, c) {
			m.addReport("%s: gone", c)
		}
	}
	for _, c := range now {
		if !slices.Contains(was, c) {
			m.addReport("%s: new", c)
		}
	}
}

// describeChanges lists the changes of a song that change something.
func describeChanges(s *engine.Song, name func(clock.Beat) string) (list []string) {
	tempo, meter := s.Tempo, s.Meter
	for _, c := range s.Tempos {
		if !smf.SameTempo(c.Tempo, tempo) {
			list = append(list, fmt.Sprintf("tempo %s from %s on", smf.BPM(c.Tempo, s.MeterAt(c.At)), name(c.At)))
		}
		tempo = c.Tempo
	}
	for _, c := range s.Meters {
		if c.Meter != meter {
			list = append(list, fmt.Sprintf("meter %s from %s on", c.Meter, name(c.At)))
		}
		meter = c.Meter
	}
	return list
}
