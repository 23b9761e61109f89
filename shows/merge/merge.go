package merge

import (
	"errors"
	"fmt"
	"slices"

	yaml "go.yaml.in/yaml/v4"

	"tactus/clock"
	"tactus/engine"
	"tactus/shows"
	"tactus/shows/language"
	"tactus/shows/position"
	"tactus/shows/smf"
)

// ErrForm is wrapped by the error for a file that cannot be edited by lines.
var ErrForm = errors.New("the file's form leaves no room for the changes; nothing is written")

// Merged is a song's file with what a MIDI file says.
type Merged struct {
	Source  []byte
	Report  []string // a sentence for each change, in the order of the song; none: Source is as it was
	From    []int    // by line of Source: the same line of the file, from 1; 0: the line is new
	Drafted int      // lines of a draft that nobody has changed: a new draft fits them to the song
}

// merger merges one song.
type merger struct {
	*editor
	*pairs
	Merged
	root *yaml.Node
	in   *smf.Import
	from string      // the MIDI file, for comments and the report
	old  engine.Song // as the file has it
	now  engine.Song // as it will be
	keys []string    // of now's sections in the file

	tempoSaid, meterSaid map[clock.Beat]bool // changes that the list of changes has
}

// New merges a MIDI file into a song's file. name is the file's path inside the show
// folder, such as songs/lanterns.yaml, for errors; from is the name of the MIDI file.
// Errors are language.Problems of the file as it is, with lines; that a part of it cannot
// be edited, with its line; or wrap ErrForm. The caller loads the result with its show.
func New(name string, src []byte, in *smf.Import, from string) (*Merged, error) {
	f, problems := language.ParseAs(name, language.SongFile, src)
	if len(problems) > 0 {
		return nil, problems
	}
	m := merger{editor: newEditor(name, src), in: in, from: from, tempoSaid: map[clock.Beat]bool{}, meterSaid: map[clock.Beat]bool{}}
	if m.old, problems = shows.Timeline(f); len(problems) > 0 {
		return nil, problems
	}
	var doc yaml.Node
	if err := yaml.Unmarshal(src, &doc); err != nil {
		return nil, err
	}
	m.root = doc.Content[0]
	if m.Odd || m.root.Style&yaml.FlowStyle != 0 {
		return nil, fmt.Errorf("%s:1: %w", name, ErrForm)
	}
	m.planSections()
	for _, edit := range []func() error{m.editChanges, m.editStart, m.editSections, m.editCues, m.editAccepted} {
		if err := edit(); err != nil {
			return nil, err
		}
	}
	if err := m.joinLines(); err != nil {
		return nil, err
	}
	return &m.Merged, m.verify()
}

// planSections decides what the song will be, and which section is which.
func (m *merger) planSections() {
	m.now = m.in.Song
	m.now.Sections = slices.Clone(m.now.Sections)
	if m.in.Unmarked {
		m.keepSections()
		return
	}
	m.pairs = align(&m.old, &m.now)
	m.chooseKeys()
}

// keepSections puts the file's own sections on the meters of the MIDI file.
func (m *merger) keepSections() {
	m.pairs = identity(len(m.old.Sections))
	length := m.now.Length()
	m.now.Sections = nil
	for i := range m.old.Sections {
		s := m.old.Sections[i]
		s.Start = m.now.Length()
		s.Length = m.now.BarStart(s.Start, bars(&m.old, i)) - s.Start
		m.now.Sections = append(m.now.Sections, s)
	}
	end := m.now.Length()
	m.now.Tempos = slices.DeleteFunc(slices.Clone(m.now.Tempos), func(c engine.TempoChange) bool { return c.At >= end })
	m.now.Meters = slices.DeleteFunc(slices.Clone(m.now.Meters), func(c engine.MeterChange) bool { return c.At >= end })
	text := m.from + " has no markers: the sections stay as they are"
	switch n := m.now.BarsUntil(0, length) - m.now.BarsUntil(0, end); {
	case n > 0:
		text += fmt.Sprintf("; its notes go on for %s after them", language.Count(n, "bar"))
	case n < 0:
		text += fmt.Sprintf("; its notes end %s before they do", language.Count(-n, "bar"))
	}
	m.Report = append(m.Report, text)
}

// verify reads the result and compares it with what it should be.
func (m *merger) verify() error {
	f, problems := language.ParseAs(m.name, language.SongFile, m.Source)
	if len(problems) == 0 {
		var got engine.Song
		if got, problems = shows.Timeline(f); len(problems) == 0 && same(&got, &m.now) {
			return nil
		}
	}
	if len(problems) > 0 {
		return fmt.Errorf("%s: %w: after them, %s", m.name, ErrForm, m.Places(problems)[0])
	}
	return fmt.Errorf("%s: %w", m.name, ErrForm)
}

// Places returns problems of Source with the lines of the file as it was; line 0 where a
// line is new.
func (m *Merged) Places(problems language.Problems) language.Problems {
	list := slices.Clone(problems)
	for i := range list {
		if p := &list[i]; p.Line > 0 && p.Line <= len(m.From) {
			p.Line = m.From[p.Line-1]
		}
	}
	return list
}

// same reports whether two songs have the same sections in the same time.
func same(a, b *engine.Song) bool {
	places := []clock.Beat{0}
	for _, s := range []*engine.Song{a, b} {
		for _, c := range s.Tempos {
			places = append(places, c.At)
		}
		for _, c := range s.Meters {
			places = append(places, c.At)
		}
	}
	return slices.EqualFunc(a.Sections, b.Sections, func(x, y engine.Section) bool {
		return x.Name == y.Name && x.Start == y.Start && x.Length == y.Length
	}) && !slices.ContainsFunc(places, func(at clock.Beat) bool {
		return a.MeterAt(at) != b.MeterAt(at) || !smf.SameTempo(a.TempoAt(at), b.TempoAt(at))
	})
}

// newPlace returns a place of the song as it was, as the place of the same section now; gone
// says why there is none.
func (m *merger) newPlace(at string) (now, gone string) {
	section, rest := at, ""
	if s := position.Shift.FindStringSubmatch(section); s != nil {
		section, rest = s[1], at[len(s[1]):]
	}
	if s := position.Bar.FindStringSubmatch(section); s != nil {
		section, rest = s[1], at[len(s[1]):]
	}
	i, end, fault := position.FindSection(&m.old, section)
	if fault != nil {
		return at, ""
	}
	if m.after[i] < 0 {
		return "", fmt.Sprintf("%s is not in %s", m.old.Sections[i].Name, m.from)
	}
	now = m.now.Sections[m.after[i]].Name
	if end {
		now += " end"
	}
	now += rest
	if _, fault := position.FindForCue(&m.now, now); fault != nil {
		return "", fault.What + "; " + fault.Allowed
	}
	return now, ""
}

func (m *merger) addReport(format string, args ...any) {
	m.Report = append(m.Report, fmt.Sprintf(format, args...))
}
