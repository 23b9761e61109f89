package written

import "tactus/shows/language"

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
	Venue    string    `json:"venue"`
	Fixtures []Fixture `json:"fixtures"` // in file order
	Groups   []Group   `json:"groups"`   // in file order
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

func rigOf(v *language.Value) Rig {
	r := Rig{Venue: v.Get("venue").Word(), Fixtures: []Fixture{}, Groups: []Group{}}
	for _, e := range v.Get("fixtures").All() {
		f := e.Value
		r.Fixtures = append(r.Fixtures, Fixture{
			Name: e.Key.Text, Line: e.Key.Line, Profile: f.Get("profile").Word(), Universe: f.Get("universe").Word(),
			Address: int(f.Get("address").Num(0)), Every: int(f.Get("every").Num(0)),
			At: pointOf(f.Get("at")), From: pointOf(f.Get("from")), To: pointOf(f.Get("to")), Circuit: f.Get("circuit").Word(),
		})
	}
	for _, e := range v.Get("groups").All() {
		of := texts(e.Value)
		if of == nil {
			of = []string{}
		}
		r.Groups = append(r.Groups, Group{e.Key.Text, e.Key.Line, of})
	}
	return r
}

func pointOf(v *language.Value) *[3]float64 {
	p, ok := v.Point()
	if !ok {
		return nil
	}
	return &[3]float64{p.X, p.Y, p.Z}
}
