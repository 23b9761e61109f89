package newrig

import (
	"cmp"
	"fmt"

	"tactus/shows"
	"tactus/shows/written"
)

// Hanging is a row of fixtures with its places, for a show that has a rig already. Names
// and addresses are as the description says them: those that it does not say are open.
type Hanging struct {
	Line     int    // of the list that it is from; 0: none
	Name     string // without its number
	Number   int    // of the first; 0: none is said
	Count    int
	Profile  string
	From, To [3]float64 // metres, as rig.yaml counts them
	Universe string     // a label; "": none is said
	Address  int        // of the first; 0: none is said
	Watts    float64    // of each at full; 0: not known
}

// Hangings returns the rows of a description, those that follow one another joined, with
// the remarks about them. Rows that cannot be used are left out.
func Hangings(d *Description) (list []Hanging, remarks []Remark) {
	r := &rig{}
	if !r.begin(d) {
		return nil, r.remarks
	}
	for i := range r.rows {
		w := &r.rows[i]
		points := w.points()
		h := Hanging{
			Line: w.Line, Name: cmp.Or(cleanName(w.Name), w.kindName()), Number: w.Number, Count: w.Count, Profile: w.Profile,
			From: points[0], To: points[len(points)-1], Universe: w.Universe, Address: w.Address, Watts: w.Watts,
		}
		if w.Name == "" {
			h.Number = 0
		}
		list = append(list, h)
	}
	return list, r.remarks
}

// Undecided makes a show of which nobody has said yet what hangs there: it has one lamp,
// because a show needs one, and a first song without cues. It is to be described on the
// page or in rig.yaml.
func Undecided(venue string) (*Making, error) {
	m, err := undrafted(&Description{Venue: venue, Fixtures: []Fixture{{Name: written.NothingYet, Profile: "dimmer", Place: "front truss"}}})
	if err != nil {
		return nil, err
	}
	show, problems := shows.Load(folder(m.Files), shows.Options{})
	if err := problems.Err(); err != nil {
		return nil, fmt.Errorf("%w: %w", errMade, err)
	}
	m.Show = show
	return m, nil
}
