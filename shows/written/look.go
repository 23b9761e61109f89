package written

import (
	"math"
	"slices"

	"tactus/engine"
	"tactus/shows"
	"tactus/shows/language"
)

// Look is a look as written.
type Look struct {
	Name    string   `json:"name"`
	Line    int      `json:"line"` // in looks.yaml
	Fade    string   `json:"fade"`
	Set     []Levels `json:"set"`
	Effects []string `json:"effects"` // null: not written
	Used    []Use    `json:"used"`    // where songs, sets and the ladder name it
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
	Used []Use          `json:"used"` // where songs, looks, the ladder and characters name it
	// Wave has values over its first period, 0..1, at even distances, for a small picture. It
	// is null where the files have faults.
	Wave []float64 `json:"wave"`
}

const waveValues = 65 // of a small picture

// Use is a place that names a look or an effect.
type Use struct {
	Song    string `json:"song,omitempty"` // file
	Section *int   `json:"section,omitempty"`
	Cue     *int   `json:"cue,omitempty"` // index in the song's list of cues
	Look    string `json:"look,omitempty"`
	Set     string `json:"set,omitempty"` // file
	// Of the ladder and of characters, where they name effects.
	Rung      *int   `json:"rung,omitempty"`   // index in the ladder
	Moment    string `json:"moment,omitempty"` // breath, breakdown, spoken or end
	Character string `json:"character,omitempty"`
}

// Rung is a rung of the ladder as written.
type Rung struct {
	Energy  int      `json:"energy"`
	Look    string   `json:"look"`
	Effects []string `json:"effects"` // null: those of the look
}

// Moment is the light that the ladder has for a moment of a song, as written: "begin" and
// "instrumental" have levels only.
type Moment struct {
	Moment  string   `json:"moment"`  // begin, instrumental, breath, breakdown, spoken or end
	Look    string   `json:"look"`    // "": none
	Effects []string `json:"effects"` // null: those of the look
	Set     []Levels `json:"set"`     // levels over the look, or by themselves
}

// Character is a character of the looks file as written: each key with its text, or a list
// of texts. Built-in ones stand there as far as they differ.
type Character struct {
	Name string         `json:"name"`
	Line int            `json:"line"` // in looks.yaml
	Keys map[string]any `json:"keys"` // such as pace: slow, effects: [sway]
	Used []Use          `json:"used"` // where songs name it
}

// readLooks reads looks.yaml, after the songs and sets. show is as for Of.
func (m *Model) readLooks(show *shows.Show, v *language.Value) {
	looks, effects := m.uses()
	ladder := v.Get("ladder")
	for i, item := range ladder.Get("rungs").Items() {
		look := item.Get("look").Word()
		looks[look] = append(looks[look], Use{Rung: &i})
	}
	for _, moment := range language.Moments() {
		look := ladder.Get(moment).Word()
		if look == "" {
			look = ladder.Get(moment).Get("look").Word()
		}
		looks[look] = append(looks[look], Use{Moment: moment})
	}
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
	usesOfEffects(v, effects)
	for _, e := range v.Get("effects").All() {
		x := Effect{e.Key.Text, e.Key.Line, keysOf(e.Value), effects[e.Key.Text], waveOf(show, e.Key.Text)}
		if x.Used == nil {
			x.Used = []Use{}
		}
		m.Effects = append(m.Effects, x)
	}
	for _, item := range ladder.Get("rungs").Items() {
		m.Ladder = append(m.Ladder, Rung{int(item.Get("energy").Num(0)), item.Get("look").Word(), texts(item.Get("effects"))})
	}
	for _, e := range v.Get("ladder").All() {
		moment := Moment{Moment: e.Key.Text, Look: e.Value.Word(), Effects: texts(e.Value.Get("effects")), Set: levelsOf(e.Value.Get("set"))}
		switch e.Key.Text {
		case "rungs":
			continue
		case "begin", "instrumental":
			moment.Set = levelsOf(e.Value)
		default:
			if look := e.Value.Get("look"); look != nil {
				moment.Look = look.Text
			}
		}
		m.Moments = append(m.Moments, moment)
	}
	for _, e := range v.Get("characters").All() {
		c := Character{e.Key.Text, e.Key.Line, keysOf(e.Value), []Use{}}
		for i := range m.Songs {
			if slices.Contains(m.Songs[i].Character, c.Name) {
				c.Used = append(c.Used, Use{Song: m.Songs[i].File})
			}
		}
		m.Characters = append(m.Characters, c)
	}
}

// keysOf returns the keys of a mapping, each with its text or a list of texts.
func keysOf(v *language.Value) map[string]any {
	keys := map[string]any{}
	for _, e := range v.All() {
		keys[e.Key.Text] = plain(e.Value)
	}
	return keys
}

// usesOfEffects adds where the ladder and characters name effects.
func usesOfEffects(v *language.Value, effects map[string][]Use) {
	add := func(names *language.Value, u Use) {
		for _, name := range texts(names) {
			effects[name] = append(effects[name], u)
		}
	}
	ladder := v.Get("ladder")
	for i, item := range ladder.Get("rungs").Items() {
		add(item.Get("effects"), Use{Rung: &i})
	}
	for _, moment := range language.Moments() {
		add(ladder.Get(moment).Get("effects"), Use{Moment: moment})
	}
	for _, e := range v.Get("characters").All() {
		add(e.Value.Get("effects"), Use{Character: e.Key.Text})
	}
}

// waveOf returns the wave of an effect, or nil if it is not known.
func waveOf(show *shows.Show, name string) []float64 {
	if show == nil {
		return nil
	}
	i := slices.IndexFunc(show.Program.Effects, func(e engine.Effect) bool { return e.Name == name })
	if i < 0 {
		return nil
	}
	values := show.Program.Effects[i].Values(0, waveValues)
	for k, v := range values {
		values[k] = math.Round(v*1000) / 1000
	}
	return values
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
