package written

import (
	"tactus/shows"
	"tactus/shows/language"
)

// Set is a set list as written.
type Set struct {
	File    string   `json:"file"`
	Name    string   `json:"name"`
	Songs   []string `json:"songs"` // by name or file, as written
	WalkIn  string   `json:"walkIn"`
	Talk    string   `json:"talk"`
	Pad     string   `json:"pad"`
	WalkOut string   `json:"walkOut"`
	Plays   bool     `json:"plays"` // it is the set that plays
}

// Rig is the rig file as written.
type Rig struct {
	Venue     string     `json:"venue"`
	Undecided bool       `json:"undecided"` // nobody has said what hangs there: only NothingYet is in it
	Universes []Universe `json:"universes"` // in file order
	Fixtures  []Fixture  `json:"fixtures"`  // in file order
	Groups    []Group    `json:"groups"`    // in file order
	Circuits  []Circuit  `json:"circuits"`  // in file order
}

// NothingYet is the only fixture of a rig that nobody has described: a show needs one.
const NothingYet = "nothing yet"

// Universe is a universe as written: each key with its text, or a list of texts.
type Universe struct {
	Name string         `json:"name"`
	Line int            `json:"line"` // in rig.yaml
	Keys map[string]any `json:"keys"` // such as sacn: 1, to: [127.0.0.1]
}

// Circuit is a mains circuit as written.
type Circuit struct {
	Name    string `json:"name"`
	Line    int    `json:"line"`    // in rig.yaml
	Breaker string `json:"breaker"` // such as 16 A
}

// Fixture is a fixture, or a row of them, as written.
type Fixture struct {
	Name     string      `json:"name"` // such as "wash 1-4" for a row
	Line     int         `json:"line"` // in rig.yaml
	Profile  string      `json:"profile"`
	Universe string      `json:"universe"`
	Address  int         `json:"address"` // of the first
	Every    int         `json:"every"`   // slots from one to the next; 0: the profile's
	At       *[3]float64 `json:"at"`      // metres: house left (-) to right, front to back, height; null: not written
	From     *[3]float64 `json:"from"`    // likewise, of the first of a row
	To       *[3]float64 `json:"to"`      // likewise, of the last of a row
	Circuit  string      `json:"circuit"`
	Watts    string      `json:"watts"` // of each at full, as written
	Names    []string    `json:"names"` // of the fixtures that it stands for
	Last     int         `json:"last"`  // last slot of the last of them; 0: not known, as files have faults
}

// Group is a group as written.
type Group struct {
	Name string   `json:"name"`
	Line int      `json:"line"` // in rig.yaml
	Of   []string `json:"of"`   // fixtures, rows and groups, as written
}

func setOf(name string, v *language.Value) Set {
	s := Set{
		File: name, Name: v.Get("set").Word(), Songs: texts(v.Get("songs")),
		WalkIn: v.Get("walk-in").Word(), Talk: v.Get("talk").Word(), Pad: v.Get("pad").Word(), WalkOut: v.Get("walk-out").Word(),
	}
	if s.Songs == nil {
		s.Songs = []string{}
	}
	return s
}

func rigOf(show *shows.Show, v *language.Value) Rig {
	r := Rig{Venue: v.Get("venue").Word(), Universes: []Universe{}, Fixtures: []Fixture{}, Groups: []Group{}, Circuits: []Circuit{}}
	for _, e := range v.Get("universes").All() {
		u := Universe{e.Key.Text, e.Key.Line, map[string]any{}}
		for _, key := range e.Value.All() {
			u.Keys[key.Key.Text] = plain(key.Value)
		}
		r.Universes = append(r.Universes, u)
	}
	last := map[string]int{}
	if show != nil {
		for _, p := range show.Program.Patch.Placements() {
			last[p.Name] = p.Address + p.Profile.Footprint() - 1
		}
	}
	for _, e := range v.Get("fixtures").All() {
		f := e.Value
		names, err := shows.FixtureNames(e.Key.Text)
		if err != nil {
			names = []string{e.Key.Text}
		}
		r.Fixtures = append(r.Fixtures, Fixture{
			Name: e.Key.Text, Line: e.Key.Line, Profile: f.Get("profile").Word(), Universe: f.Get("universe").Word(),
			Address: int(f.Get("address").Num(0)), Every: int(f.Get("every").Num(0)),
			At: pointOf(f.Get("at")), From: pointOf(f.Get("from")), To: pointOf(f.Get("to")), Circuit: f.Get("circuit").Word(),
			Watts: f.Get("watts").Word(), Names: names, Last: last[names[len(names)-1]],
		})
	}
	for _, e := range v.Get("groups").All() {
		of := texts(e.Value)
		if of == nil {
			of = []string{}
		}
		r.Groups = append(r.Groups, Group{e.Key.Text, e.Key.Line, of})
	}
	for _, e := range v.Get("circuits").All() {
		r.Circuits = append(r.Circuits, Circuit{e.Key.Text, e.Key.Line, e.Value.Get("breaker").Word()})
	}
	r.Undecided = len(r.Fixtures) == 1 && r.Fixtures[0].Name == NothingYet
	return r
}

func pointOf(v *language.Value) *[3]float64 {
	p, ok := v.Point()
	if !ok {
		return nil
	}
	return &[3]float64{p.X, p.Y, p.Z}
}
