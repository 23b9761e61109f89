package written

import (
	"bytes"
	"maps"
	"slices"

	"tactus/shows"
	"tactus/shows/language"
)

// Model is a show as its files write it.
type Model struct {
	Songs      []Song            `json:"songs"`      // in order of their files' names
	Looks      []Look            `json:"looks"`      // in file order
	Effects    []Effect          `json:"effects"`    // in file order
	Ladder     []Rung            `json:"ladder"`     // from the calmest to the strongest
	Breath     string            `json:"breath"`     // the look for a breath of dark; "": none
	Moments    []Moment          `json:"moments"`    // the ladder's, in file order
	Characters []Character       `json:"characters"` // of looks.yaml, in file order
	Limits     []Limit           `json:"limits"`     // by which check judges the light, all of them
	Palette    map[string]Colour `json:"palette"`    // the show's own colours by role, where songs write none
	Sets       []Set             `json:"sets"`       // in order of their files' names
	Rig        Rig               `json:"rig"`

	parsed map[string]parsed
}

// parsed is a file that was read before.
type parsed struct {
	src    []byte
	root   *language.Value
	faulty bool
	song   *Song // of a song's file: what does not depend on other files
}

// Colour is a colour as a file writes it and as a screen shows it.
type Colour struct {
	Written string `json:"written"` // "": not in this file; the show's own, or the character's
	Shown   string `json:"shown"`   // sRGB, as CSS writes it: #2a4fa8; "": not known
}

// Of returns the model of a show's sources, by path inside the folder. show is compiled
// from them, or nil if they have faults: then what depends on several files is missing.
// before is an earlier model, or nil; files with the same bytes are not read again.
func Of(show *shows.Show, sources map[string][]byte, before *Model) *Model {
	m := &Model{
		Songs: []Song{}, Looks: []Look{}, Effects: []Effect{}, Ladder: []Rung{}, Moments: []Moment{}, Characters: []Character{},
		Palette: map[string]Colour{}, Sets: []Set{}, Rig: emptyRig(), parsed: map[string]parsed{},
	}
	for _, name := range slices.Sorted(maps.Keys(sources)) {
		if kind, known := language.KindOf(name); known && kind != language.ProfileFile {
			m.parsed[name] = parse(name, sources[name], before)
		}
	}
	if show != nil {
		m.Breath = shows.BreathLook(show)
	}
	looks := m.parsed[language.LooksFile.Where()].root
	m.Palette = palette(looks.Get("palette"), shownIn(show))
	for _, name := range slices.Sorted(maps.Keys(m.parsed)) {
		p := m.parsed[name]
		switch kind, _ := language.KindOf(name); kind {
		case language.SongFile:
			m.Songs = append(m.Songs, songIn(show, name, p.song))
		case language.SetFile:
			set := setOf(name, p.root)
			set.Plays = show != nil && set.Name == show.Program.SetName
			m.Sets = append(m.Sets, set)
		case language.RigFile:
			m.Rig = rigOf(show, p.root)
		}
	}
	m.readLooks(show, looks)
	m.Limits = limitsOf(m.parsed[language.ShowFile.Where()].root.Get("judge"))
	return m
}

// parse reads a file, or returns what was read of the same bytes before.
func parse(name string, src []byte, before *Model) parsed {
	if before != nil {
		if p, ok := before.parsed[name]; ok && bytes.Equal(p.src, src) {
			return p
		}
	}
	f, _ := language.Parse(name, src)
	p := parsed{src: src, root: f.Root, faulty: f.Faulty}
	if f.Kind == language.SongFile {
		song := songOf(f)
		song.markDrafted(src)
		p.song = &song
	}
	return p
}

// shownIn returns what a show's own colours are on a screen, in the engine's order; nil for
// no show.
func shownIn(show *shows.Show) (list []string) {
	if show == nil {
		return nil
	}
	for _, c := range show.Program.HousePalette {
		list = append(list, CSS(c))
	}
	return list
}

// palette returns colours by role. shown has what a screen shows of them, in the engine's
// order, or is nil.
func palette(v *language.Value, shown []string) map[string]Colour {
	out := map[string]Colour{}
	for i, role := range language.RoleNames() {
		c := Colour{Written: v.Get(role).Word()}
		if c.Shown = c.Written; shown != nil {
			c.Shown = shown[i]
		}
		out[role] = c
	}
	return out
}

// texts returns the texts of a list, or of a single value as a list of one; nil for nil.
func texts(v *language.Value) []string {
	if v == nil {
		return nil
	}
	list := []string{}
	for _, item := range v.Items() {
		list = append(list, item.Text)
	}
	return list
}

// line returns the line of a value; 0 for nil.
func line(v *language.Value) int {
	if v == nil {
		return 0
	}
	return v.Line
}
