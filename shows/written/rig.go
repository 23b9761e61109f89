package written

import (
	"slices"

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

// Rig is the rig file as written. Its lists are in file order.
type Rig struct {
	Venue     string     `json:"venue"`
	Undecided bool       `json:"undecided"` // nobody has said what hangs there: only NothingYet is in it
	White     string     `json:"white"`     // "": the default
	Universes []Universe `json:"universes"`
	Fixtures  []Fixture  `json:"fixtures"`
	Groups    []Group    `json:"groups"`
	Circuits  []Circuit  `json:"circuits"`
	Lists     []Group    `json:"lists"` // keep, blackout spares, house lights, work light, faces audience, as far as written
	Floors    []Floor    `json:"floors"`
	Inputs    []Input    `json:"inputs"`
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

// Floor is the lowest level of a group or fixture while someone speaks.
type Floor struct {
	On    string `json:"on"`
	Level string `json:"level"` // such as 30 %
}

// Input is a universe that comes in, as written.
type Input struct {
	Name   string         `json:"name"`
	Line   int            `json:"line"`   // in rig.yaml
	Keys   map[string]any `json:"keys"`   // all but its faders, such as sacn: 11, takes: last
	Faders []Fader        `json:"faders"` // in file order
}

// Fader is a slot of an input that sets a group or fixture.
type Fader struct {
	On   string `json:"on"`
	Slot int    `json:"slot"` // 1..512
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
	r := emptyRig()
	r.Venue, r.White = v.Get("venue").Word(), v.Get("white").Word()
	for _, e := range v.Get("universes").All() {
		r.Universes = append(r.Universes, Universe{e.Key.Text, e.Key.Line, keysOf(e.Value)})
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
		r.Groups = append(r.Groups, groupOf(e))
	}
	for _, e := range v.Get("circuits").All() {
		r.Circuits = append(r.Circuits, Circuit{e.Key.Text, e.Key.Line, e.Value.Get("breaker").Word()})
	}
	for _, e := range v.All() {
		if slices.Contains(language.RigLists(), e.Key.Text) {
			r.Lists = append(r.Lists, groupOf(e))
		}
	}
	for _, e := range v.Get("floors").All() {
		r.Floors = append(r.Floors, Floor{e.Key.Text, e.Value.Word()})
	}
	for _, e := range v.Get("inputs").All() {
		in := Input{e.Key.Text, e.Key.Line, keysOf(e.Value), []Fader{}}
		delete(in.Keys, "faders")
		for _, f := range e.Value.Get("faders").All() {
			in.Faders = append(in.Faders, Fader{f.Key.Text, int(f.Value.Num(0))})
		}
		r.Inputs = append(r.Inputs, in)
	}
	r.Undecided = len(r.Fixtures) == 1 && r.Fixtures[0].Name == NothingYet
	return r
}

// emptyRig is a rig of which nothing is written.
func emptyRig() Rig {
	return Rig{
		Universes: []Universe{}, Fixtures: []Fixture{}, Groups: []Group{}, Circuits: []Circuit{}, Lists: []Group{},
		Floors: []Floor{}, Inputs: []Input{},
	}
}

// groupOf returns a list of names under a key.
func groupOf(e language.Entry) Group {
	of := texts(e.Value)
	if of == nil {
		of = []string{}
	}
	return Group{e.Key.Text, e.Key.Line, of}
}

func pointOf(v *language.Value) *[3]float64 {
	p, ok := v.Point()
	if !ok {
		return nil
	}
	return &[3]float64{p.X, p.Y, p.Z}
}
