package merge

import (
	"fmt"
	"strings"

	yaml "go.yaml.in/yaml/v4"

	"tactus/clock"
	"tactus/engine"
	"tactus/shows/language"
	"tactus/shows/position"
	"tactus/shows/smf"
)

// chooseKeys names the sections in the file: by the names it has, where the loader makes
// the wanted names of them; else by those of the MIDI file.
func (m *merger) chooseKeys() {
	count, nth, wrong := map[string]int{}, map[string]int{}, map[string]bool{}
	keys := oldKeys(m.root)
	for j, i := range m.before {
		key := m.in.Marks[j].Key
		if i >= 0 && stem(&m.old, i) == stem(&m.now, j) {
			key = keys[i]
		}
		m.keys = append(m.keys, key)
		count[key]++
	}
	for j, key := range m.keys {
		name := key
		if nth[key]++; count[key] > 1 {
			name = fmt.Sprintf("%s %d", key, nth[key])
		}
		if name != m.now.Sections[j].Name {
			wrong[position.BaseName(key)], wrong[position.BaseName(m.in.Marks[j].Key)] = true, true
		}
	}
	for j := range m.keys {
		if wrong[position.BaseName(m.keys[j])] || wrong[position.BaseName(m.in.Marks[j].Key)] {
			m.keys[j] = m.in.Marks[j].Key
		}
	}
}

// oldKeys lists the sections' names as they are written.
func oldKeys(root *yaml.Node) (keys []string) {
	_, sections := entryOf(root, "sections")
	for _, n := range sections.Content {
		if n.Kind == yaml.MappingNode && len(n.Content) > 0 {
			keys = append(keys, n.Content[0].Value)
		}
	}
	return keys
}

// editSections edits the sections that stay and says what becomes of all.
func (m *merger) editSections() error {
	l, err := m.listOf(m.root, "sections")
	if err != nil {
		return err
	}
	for j, i := range m.before {
		now := &m.now.Sections[j]
		if i < 0 {
			m.addReport("%s: new, %s; energy %d is a guess, look at it", now.Name, language.Count(bars(&m.now, j), "bar"), now.Energy)
			continue
		}
		if err := m.editSection(l.items[i].node, i, j); err != nil {
			return err
		}
		was := &m.old.Sections[i]
		switch {
		case stem(&m.old, i) != stem(&m.now, j):
			m.addReport("%s: stands where %s was, and keeps its energy %d and all else: look at it", now.Name, was.Name, was.Energy)
		case was.Name != now.Name:
			m.addReport("%s: was %s", now.Name, was.Name)
		}
		if a, b := bars(&m.old, i), bars(&m.now, j); a != b {
			m.addReport("%s: %s, was %d", now.Name, language.Count(b, "bar"), a)
		}
		if m.moved[j] {
			m.addReport("%s: moved, now %s", now.Name, m.neighbour(j))
		}
	}
	for i, j := range m.after {
		if j < 0 {
			m.addReport("%s:%d: %s: gone; its line stays as a comment", m.name, l.items[i].from+1, m.old.Sections[i].Name)
			m.commentOut(l.items[i], fmt.Sprintf("not in %s any more, %s:", m.from, m.old.Sections[i].Name))
		}
	}
	return nil
}

func (m *merger) neighbour(j int) string {
	if j == 0 {
		return "first"
	}
	return "after " + m.now.Sections[j-1].Name
}

// editSection edits the name, bars, tempo and meter of a section that stays.
func (m *merger) editSection(n *yaml.Node, i, j int) error {
	key, record := n.Content[0], n.Content[1]
	if !m.in.Unmarked && key.Value != m.keys[j] {
		if err := m.replaceScalar(key, language.Quote(m.keys[j])); err != nil {
			return err
		}
	}
	_, value := entryOf(record, "bars")
	if bars(&m.old, i) != bars(&m.now, j) {
		if err := m.replaceScalar(value, fmt.Sprint(bars(&m.now, j))); err != nil {
			return err
		}
	}
	at := m.now.Sections[j].Start
	own, has := entryOf(record, "tempo")
	tempo, changes := tempoFrom(&m.now, at)
	text := smf.BPM(tempo, m.now.MeterAt(at))
	if err := m.setKey(record, value, own, has, "tempo", text, changes && !m.tempoSaid[at], has != nil && smf.SameTempo(m.tempoOf(has.Value, at), tempo)); err != nil {
		return err
	}
	own, has = entryOf(record, "meter")
	meter, changes := meterFrom(&m.now, at)
	return m.setKey(record, value, own, has, "meter", meter.String(), changes && !m.meterSaid[at], has != nil && has.Value == meter.String())
}

// setKey gives a section its own tempo or meter, or takes it away. fits: it has one that is
// right as it stands.
func (m *merger) setKey(record, bars, key, value *yaml.Node, name, text string, wanted, fits bool) error {
	switch {
	case fits:
		return nil
	case key != nil && wanted:
		return m.replaceScalar(value, text)
	case key != nil:
		return m.removeKey(record, key, value)
	case wanted:
		return m.addKey(record, bars, name+": "+text)
	}
	return nil
}

// tempoFrom returns the tempo at a place, and whether it changes there.
func tempoFrom(s *engine.Song, at clock.Beat) (t clock.Tempo, changes bool) {
	for _, c := range s.Tempos {
		changes = changes || c.At == at
	}
	return s.TempoAt(at), changes
}

// meterFrom returns the meter at a place, and whether it changes there.
func meterFrom(s *engine.Song, at clock.Beat) (t engine.Meter, changes bool) {
	for _, c := range s.Meters {
		changes = changes || c.At == at
	}
	return s.MeterAt(at), changes
}

// tempoOf reads "96 bpm" in the meter that a place will have.
func (m *merger) tempoOf(text string, at clock.Beat) clock.Tempo {
	amount, _ := language.Measure(text)
	return m.now.MeterAt(at).Quarters(clock.BPM(language.Float(amount)))
}

// editStart edits the song's own tempo and meter, unless its first section, or a change at
// its start, says both.
func (m *merger) editStart() error {
	_, tempo := entryOf(m.root, "tempo")
	_, meter := entryOf(m.root, "meter")
	if !smf.SameTempo(m.old.Tempo, m.now.Tempo) {
		m.addReport("tempo: %s, was %s", smf.BPM(m.now.Tempo, m.now.Meter), smf.BPM(m.old.Tempo, m.old.Meter))
	}
	if m.old.Meter != m.now.Meter {
		m.addReport("meter: %s, was %s", m.now.Meter, m.old.Meter)
	}
	m.sayChanges()
	tempoSaid, meterSaid := m.tempoSaid[0], m.meterSaid[0]
	if i := m.before[0]; i >= 0 {
		_, sections := entryOf(m.root, "sections")
		record := sections.Content[i].Content[1]
		_, own := entryOf(record, "tempo")
		tempoSaid = tempoSaid || own != nil && smf.SameTempo(m.tempoOf(own.Value, 0), m.now.Tempo)
		_, own = entryOf(record, "meter")
		meterSaid = meterSaid || own != nil && own.Value == m.now.Meter.String()
	}
	if tempoSaid && meterSaid {
		return nil
	}
	if !tempoSaid && !smf.SameTempo(m.tempoOf(tempo.Value, 0), m.now.Tempo) {
		if err := m.replaceScalar(tempo, smf.BPM(m.now.Tempo, m.now.Meter)); err != nil {
			return err
		}
	}
	if meter.Value == m.now.Meter.String() {
		return nil
	}
	return m.replaceScalar(meter, m.now.Meter.String())
}

// joinLines puts the sections into their new order, and the lines together.
func (m *merger) joinLines() error {
	l, err := m.listOf(m.root, "sections")
	if err != nil {
		return err
	}
	gone := func(from int) (lines []written) { // sections that were there before the next that stays
		for i := from; i < len(l.items) && m.after[i] < 0; i++ {
			lines = append(lines, m.rendered(l.items[i].lead, l.items[i].to)...)
		}
		return lines
	}
	lines := append(m.rendered(0, l.items[0].lead), gone(0)...)
	for j, i := range m.before {
		if i < 0 {
			lines = append(lines, written{text: strings.Repeat(" ", l.dash) + m.in.SectionLine(j) + m.CR})
			continue
		}
		lines = append(lines, m.rendered(l.items[i].lead, l.items[i].to)...)
		lines = append(lines, gone(i+1)...)
	}
	lines = append(append(lines, newLines(m.below[-1])...), m.rendered(l.end, len(m.Lines))...)
	texts := make([]string, len(lines))
	for i, line := range lines {
		texts[i] = line.text
		if m.From = append(m.From, line.from); !m.Whole { // the file's last line has no end
			texts[i] = strings.TrimSuffix(line.text, "\r")
			if i+1 < len(lines) {
				texts[i] += m.CR
			}
		}
	}
	m.Source = m.Bytes(texts)
	return nil
}
