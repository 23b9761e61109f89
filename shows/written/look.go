package written

import (
	"slices"

	"tactus/shows/language"
)

// Look is a look as written.
type Look struct {
	Name    string   `json:"name"`
	Line    int      `json:"line"` // in looks.yaml
	Fade    string   `json:"fade"`
	Set     []Levels `json:"set"`
	Effects []string `json:"effects"` // null: not written
	Used    []Use    `json:"used"`    // where songs name it
}

// Levels are what a group or fixture is set to, as written.
type Levels struct {
	On     string            `json:"on"`
	Levels map[string]string `json:"levels"` // such as colour: main, intensity: 40 %
}

// Effect is an effect as written: each key with its text, or a list of texts.
type Effect struct {
	Name string         `json:"name"`
	Line int            `json:"line"` // in looks.yaml
	Keys map[string]any `json:"keys"` // such as wave: sine, on: [washes]
	Used []Use          `json:"used"` // where songs and looks name it
}

// Use is a place that names a look or an effect.
type Use struct {
	Song    string `json:"song,omitempty"` // file
	Section *int   `json:"section,omitempty"`
	Cue     *int   `json:"cue,omitempty"` // index in the song's list of cues
	Look    string `json:"look,omitempty"`
	Set     string `json:"set,omitempty"` // file
}

// Rung is a rung of the ladder as written.
type Rung struct {
	Energy  int      `json:"energy"`
	Look    string   `json:"look"`
	Effects []string `json:"effects"` // null: those of the look
}

// readLooks reads looks.yaml, after the songs and sets.
func (m *Model) readLooks(v *language.Value) {
	looks, effects := m.uses()
	for _, e := range v.Get("looks").All() {
		l := Look{e.Key.Text, e.Key.Line, e.Value.Get("fade").Word(), levelsOf(e.Value.Get("set")), texts(e.Value.Get("effects")), looks[e.Key.Text]}
		if l.Used == nil {
			l.Used = []Use{}
		}
		for _, name := range l.Effects {
			effects[name] = append(effects[name], Use{Look: l.Name})
		}
		m.Looks = append(m.Looks, l)
	}
	for _, e := range v.Get("effects").All() {
		x := Effect{e.Key.Text, e.Key.Line, map[string]any{}, effects[e.Key.Text]}
		if x.Used == nil {
			x.Used = []Use{}
		}
		for _, key := range e.Value.All() {
			x.Keys[key.Key.Text] = plain(key.Value)
		}
		m.Effects = append(m.Effects, x)
	}
	for _, item := range v.Get("ladder").Get("rungs").Items() {
		m.Ladder = append(m.Ladder, Rung{int(item.Get("energy").Num(0)), item.Get("look").Word(), texts(item.Get("effects"))})
	}
}

// uses finds where songs and sets name looks, and songs name effects.
func (m *Model) uses() (looks, effects map[string][]Use) {
	looks, effects = map[string][]Use{}, map[string][]Use{}
	add := func(l *Light, u Use) {
		if l.Look != "" {
			looks[l.Look] = append(looks[l.Look], u)
		}
		for _, name := range l.Effects {
			effects[name] = append(effects[name], u)
		}
	}
	for i := range m.Songs {
		s := &m.Songs[i]
		for k := range s.Sections {
			add(&s.Sections[k].Light, Use{Song: s.File, Section: &k})
		}
		for k := range s.Cues {
			add(&s.Cues[k].Light, Use{Song: s.File, Cue: &k})
		}
		if s.AfterEnd != "" {
			looks[s.AfterEnd] = append(looks[s.AfterEnd], Use{Song: s.File})
		}
	}
	for i := range m.Sets {
		s := &m.Sets[i]
		var named []string
		for _, look := range []string{s.WalkIn, s.Talk, s.Pad, s.WalkOut} {
			if look != "" && !slices.Contains(named, look) {
				named, looks[look] = append(named, look), append(looks[look], Use{Set: s.File})
			}
		}
	}
	return looks, effects
}

// levelsOf reads levels by target, in file order; null where there are none.
func levelsOf(v *language.Value) []Levels {
	var list []Levels
	for _, e := range v.All() {
		l := Levels{e.Key.Text, map[string]string{}}
		for _, key := range e.Value.All() {
			l.Levels[key.Key.Text] = key.Value.Word()
		}
		list = append(list, l)
	}
	return list
}

// plain returns a text, or the texts of a list.
func plain(v *language.Value) any {
	if v == nil {
		return ""
	}
	if items := v.Items(); len(items) != 1 || items[0] != v {
		return texts(v)
	}
	return v.Text
}
