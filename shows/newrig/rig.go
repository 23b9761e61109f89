package newrig

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"tactus/engine/flash"
	"tactus/fixtures"
	"tactus/shows"
	"tactus/shows/language"
)

// rig is a description as it was understood.
type rig struct {
	venue     string
	universes []universe
	rows      []row
	profiles  map[string]*fixtures.Profile
	lit       map[*fixtures.Profile]bool // whether it gives light, as far as it was asked; that takes a millisecond each
	taken     map[string]bool            // names of fixtures and of their heads
	remarks   []Remark
}

// row is a row of fixtures with all that a rig file says of it.
type row struct {
	Fixture
	profile *fixtures.Profile
	place   Place
	use     use
	class   class
	moves   []fixtures.Param // pan, tilt: what it has of them
	names   string           // as rig.yaml says it: "wash 1-4"
}

// class is what colours a row of fixtures can show.
type class uint8

const (
	white   class = iota // one white, such as a dimmer
	tunable              // whites from warm to cool
	hued                 // all hues
	numClasses
)

// NoLight is the reason why a description without any light is refused.
const NoLight = "no fixture here gives light; describe at least one that does"

// Limits of a description.
const (
	maxRows  = 4096
	maxCount = 512 // of a row: as many as a range of a rig file may stand for
)

func (r *rig) fault(f *Fixture, what, reason, nearest string) {
	r.remarks = append(r.remarks, Remark{Line: f.Line, What: what, Reason: reason, Nearest: nearest, Fault: true})
}

func (r *rig) note(f *Fixture, what, reason string) {
	r.remarks = append(r.remarks, Remark{Line: f.Line, What: what, Reason: reason})
}

// newRig understands a description. What cannot be used is among the remarks.
func newRig(d *Description) *rig {
	r := &rig{}
	if !r.begin(d) {
		return r
	}
	r.chooseStage()
	if len(FaultsOf(r.remarks)) == 0 {
		r.nameRows()
		r.number(d.Universes)
	}
	return r
}

// begin takes the rows of a description with their profiles and places; false if there are
// too many, or a profile has a fault.
func (r *rig) begin(d *Description) bool {
	r.venue, r.profiles = cmp.Or(cleanText(d.Venue), "My Hall"), map[string]*fixtures.Profile{}
	r.lit, r.taken = map[*fixtures.Profile]bool{}, map[string]bool{}
	if !r.readProfiles(d.Profiles) {
		return false
	}
	count := 0
	for i := range d.Fixtures {
		count += max(1, d.Fixtures[i].Count)
	}
	if len(d.Fixtures) > maxRows || count > maxRows {
		r.remarks = append(r.remarks, Remark{Reason: fmt.Sprintf("%d rows and %d fixtures, at most %d", len(d.Fixtures), count, maxRows), Fault: true})
		return false
	}
	for _, f := range r.joined(d.Fixtures) {
		r.row(f)
	}
	return true
}

// readProfiles reads the built-in profiles and those of the description; false if one of
// these has a fault.
func (r *rig) readProfiles(own []Profile) bool {
	files := map[string][]byte{
		"show.yaml": []byte("show: s\n"),
		"rig.yaml":  []byte("venue: v\nuniverses: {u: {virtual: yes}}\nfixtures: {f: {profile: dimmer, universe: u, address: 1}}\n"),
	}
	for _, p := range own {
		files["profiles/"+p.Name+".yaml"] = []byte(p.Text)
	}
	show, problems := shows.Load(folder(files), shows.Options{RigOnly: true})
	for _, p := range problems {
		r.remarks = append(r.remarks, Remark{What: p.File, Reason: p.String(), Fault: true})
	}
	if show == nil {
		return false
	}
	for _, p := range show.Profiles {
		r.profiles[p.Name] = p.Profile
	}
	return true
}

// row adds a row, or two for "both sides".
func (r *rig) row(f Fixture) {
	f.Count = max(1, f.Count)
	p := r.profiles[f.Profile]
	switch {
	case p == nil:
		r.fault(&f, f.Profile, "there is no such profile; 'tactus fixtures' lists all", r.nearestProfile(f.Profile))
		return
	case f.Count > maxCount:
		r.fault(&f, fmt.Sprint(f.Count), fmt.Sprintf("at most %d fixtures in a row", maxCount), "")
		return
	}
	if slices.Contains(sides(), plainWords(f.Place)) {
		left, right := f, f
		left.Place, right.Place = "left side", "right side"
		left.Count = (f.Count + 1) / 2
		if right.Count = f.Count / 2; right.Count > 0 {
			if f.Number > 0 {
				right.Number = f.Number + left.Count
			}
			if f.Address > 0 {
				right.Address = f.Address + left.Count*p.Footprint()
			}
			r.row(left)
			r.row(right)
			return
		}
		f = left
	}
	added := row{Fixture: f, profile: p}
	added.light(r.givesLight(p))
	if fault := r.placeRow(&added); fault {
		return
	}
	r.rows = append(r.rows, added)
}

// givesLight reports whether a fixture of a profile gives light.
func (r *rig) givesLight(p *fixtures.Profile) bool {
	lit, known := r.lit[p]
	if !known {
		if patch, err := fixtures.NewPatch(1, []fixtures.Placement{{Name: "f", Profile: p, Address: 1}}); err == nil {
			lit = slices.ContainsFunc(flash.Heads(patch), func(h flash.Head) bool { return h.Flux > 0 })
		}
		r.lit[p] = lit
	}
	return lit
}

// light finds what kind of light a row gives, if it gives any, from its profile.
func (w *row) light(lit bool) {
	p := w.profile
	for _, param := range []fixtures.Param{fixtures.Pan, fixtures.Tilt} {
		if p.Has(param) {
			w.moves = append(w.moves, param)
		}
	}
	switch {
	case p.Has(fixtures.Red) && p.Has(fixtures.Green) && p.Has(fixtures.Blue):
		w.class = hued
	case p.Coloured():
		w.class = tunable
	}
	switch w.use = other; {
	case lit:
		w.use = stage
	case p.Has(fixtures.Haze):
		w.use = hazer
	}
}

// placeRow finds where a row hangs and what it is for; true if its place is not understood.
func (r *rig) placeRow(w *row) (fault bool) {
	said := w.Place
	if said == "" && w.use == stage {
		said = placeByName(w.Name, w.class)
	}
	p := placeOf(said)
	switch {
	case p != nil:
		w.place = *p
	case w.At != nil:
		w.place = placeAt(*w.At)
	case said != "" && (w.use == stage):
		r.fault(&w.Fixture, said, "no place of that name; places are "+strings.Join(PlaceNames(), ", ")+", or three measures in metres", nearestPlace(said))
		return true
	case w.use == stage:
		w.place = Places()[0]
		r.note(&w.Fixture, w.called(), fmt.Sprintf("no place is said; taken as %s", w.place.Name))
	default:
		w.place = Place{Name: "stage", From: [3]float64{-4, 6, 0}, To: [3]float64{4, 6, 0}}
	}
	if w.use == stage {
		w.use = w.place.use
	}
	if w.use == other {
		r.note(&w.Fixture, w.called(), "gives neither light nor haze; it is patched, and no look uses it")
	}
	return false
}

// called names a row in remarks.
func (w *row) called() string { return cmp.Or(w.Name, w.Profile) }

// placeByName returns a place that a fixture's name tells, or "".
func placeByName(name string, c class) string {
	n := plainWords(name)
	switch {
	case strings.Contains(n, "house light") || strings.Contains(n, "houselight"):
		return "house"
	case c != hued && (strings.HasPrefix(n, "front") || strings.HasPrefix(n, "face")):
		return "hall"
	case placeOf(n) != nil:
		return n
	}
	return ""
}

// placeAt returns the place whose measures are nearest to a point.
func placeAt(at [3]float64) Place {
	return slices.MinFunc(Places(), func(a, b Place) int { return cmp.Compare(a.distance(at), b.distance(at)) })
}

// distance is the square of the distance, in metres, from a point to the nearest of five
// points along the place: its ends, its quarters and its middle.
func (p *Place) distance(at [3]float64) float64 {
	least := -1.0
	for _, x := range []float64{0, 0.25, 0.5, 0.75, 1} {
		sum := 0.0
		for i := range at {
			d := at[i] - (float64(p.From[i]*(1-x)) + float64(p.To[i]*x))
			sum += float64(d * d)
		}
		if least < 0 || sum < least {
			least = sum
		}
	}
	return least
}

// chooseStage makes sure that looks have something to light: without light on the stage,
// the front light is the stage's, and without that the house lights are.
func (r *rig) chooseStage() {
	if len(r.rows) == 0 {
		if len(FaultsOf(r.remarks)) == 0 {
			r.remarks = append(r.remarks, Remark{Reason: "no fixtures are described; say what hangs where, such as 4 rgbw on front truss", Fault: true})
		}
		return
	}
	for _, u := range []use{stage, front, houseLight} {
		found := false
		for i := range r.rows {
			if w := &r.rows[i]; w.use == u {
				found, w.use = true, stage
				if u != stage {
					r.note(&w.Fixture, w.called(), "nothing else lights the stage, so looks and effects use it, and songs do not leave it alone")
				}
			}
		}
		if found {
			return
		}
	}
	if len(FaultsOf(r.remarks)) == 0 {
		r.remarks = append(r.remarks, Remark{Reason: NoLight, Fault: true})
	}
}

// nearestProfile returns the nearest name of a profile, or "".
func (r *rig) nearestProfile(name string) string {
	names := make([]string, 0, len(r.profiles))
	for n := range r.profiles {
		names = append(names, n)
	}
	slices.Sort(names)
	return language.Nearest(name, names)
}

// choose returns the rows that a function chooses, in order.
func (r *rig) choose(f func(*row) bool) (list []*row) {
	for i := range r.rows {
		if f(&r.rows[i]) {
			list = append(list, &r.rows[i])
		}
	}
	return list
}

// usedAs returns the rows of a use.
func (r *rig) usedAs(u use) []*row { return r.choose(func(w *row) bool { return w.use == u }) }
