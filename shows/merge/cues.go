package merge

import (
	"fmt"
	"strings"

	yaml "go.yaml.in/yaml/v4"

	"tactus/shows/language"
	"tactus/shows/position"
	"tactus/shows/songtext"
)

// editCues moves the cues with their sections. One whose place is gone stays as a comment; a
// drafted line that nobody has changed goes.
func (m *merger) editCues() error {
	_, value := entryOf(m.root, "cues")
	if value == nil {
		return nil
	}
	l, err := m.listOf(m.root, "cues")
	if err != nil {
		return m.eachPlace(value, err)
	}
	for _, it := range l.items {
		if err := m.editCue(it); err != nil {
			return err
		}
	}
	m.closeIfEmpty(&l)
	return nil
}

// eachPlace returns nil if every cue of a list stays where it is, and err if one has to
// be edited.
func (m *merger) eachPlace(value *yaml.Node, err error) error {
	cues := value.Content
	if value.Kind == yaml.MappingNode {
		cues = []*yaml.Node{value}
	}
	for _, n := range cues {
		if _, at := entryOf(n, "at"); at != nil {
			if now, gone := m.newPlace(at.Value); gone != "" || now != at.Value {
				return err
			}
		}
	}
	return nil
}

func (m *merger) editCue(it item) error {
	_, at := entryOf(it.node, "at")
	now, gone := m.newPlace(at.Value)
	line := strings.TrimSuffix(m.Lines[it.from], "\r")
	moved, drafted := songtext.Moved(strings.TrimLeft(line, " "), now)
	if drafted {
		m.Drafted++
	}
	switch {
	case gone != "" && drafted:
		m.addReport("%s:%d: cue at %s: drafted, taken out: %s", m.name, it.from+1, at.Value, gone)
		m.drop[it.from] = true
	case gone != "":
		m.addReport("%s:%d: cue at %s: kept as a comment: %s", m.name, it.from+1, at.Value, gone)
		m.commentOut(it, fmt.Sprintf("not in the song now, %s:", gone))
	case now == at.Value:
	case drafted:
		m.spans[it.from] = []span{{len(indent(line)), len(line), moved}}
	default:
		return m.replaceScalar(at, quoted(at, now))
	}
	return nil
}

// editAccepted moves the accepted findings with their sections. One whose section is gone
// stays as a comment.
func (m *merger) editAccepted() error {
	_, value := entryOf(m.root, "accepted")
	if value == nil {
		return nil
	}
	l, formErr := m.listOf(m.root, "accepted")
	if formErr != nil {
		for _, n := range append([]*yaml.Node{value}, value.Content...) {
			if _, in := entryOf(n, "in"); in != nil && n.Kind == yaml.MappingNode && m.sectionNow(in.Value) != in.Value {
				return formErr
			}
		}
		return nil
	}
	for _, it := range l.items {
		_, in := entryOf(it.node, "in")
		if in == nil {
			continue
		}
		switch now := m.sectionNow(in.Value); now {
		case in.Value:
		case "":
			m.addReport("%s:%d: accepted in %s: kept as a comment: the section is not in %s", m.name, it.from+1, in.Value, m.from)
			m.commentOut(it, fmt.Sprintf("not accepted now, %s is not in %s:", in.Value, m.from))
		default:
			if err := m.replaceScalar(in, language.Quote(now)); err != nil {
				return err
			}
		}
	}
	m.closeIfEmpty(&l)
	return nil
}

// sectionNow returns the name that a section has now, or "" if it is gone.
func (m *merger) sectionNow(name string) string {
	i, _, fault := position.FindSection(&m.old, name)
	if fault != nil {
		return name
	}
	if m.after[i] < 0 {
		return ""
	}
	return m.now.Sections[m.after[i]].Name
}
