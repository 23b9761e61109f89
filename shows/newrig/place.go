package newrig

import (
	"slices"
	"strings"

	"tactus/shows/language"
)

// Place is where fixtures hang in a hall.
type Place struct {
	Name     string     // as rig.yaml says it: "front truss"
	About    string     // for people who choose
	From, To [3]float64 // metres: ends of a row, as rig.yaml counts them
	use      use        // what hangs there is for
	back     bool       // behind the people on the stage
	words    []string   // other words for it
}

// use is what a fixture is for.
type use uint8

const (
	stage      use = iota // light of looks and effects
	front                 // faces; songs leave it alone
	houseLight            // the audience
	hazer
	other // gives neither light nor haze
)

// Places lists the places that fixtures may hang at, with usual measures of a small hall
// (common practice, no source).
func Places() []Place {
	return []Place{
		{Name: "front truss", About: "over the front edge of the stage", From: [3]float64{-3, 0.5, 4.2}, To: [3]float64{3, 0.5, 4.2}, words: []string{"front", "truss", "downstage", "downstage truss", "ds", "ds truss", "front bar", "front pipe", "bar 1", "truss 1", "first electric", "1st electric", "lx 1", "lx1"}},
		{Name: "middle truss", About: "over the middle of the stage", From: [3]float64{-3, 2.5, 4.2}, To: [3]float64{3, 2.5, 4.2}, words: []string{"middle", "mid", "mid truss", "centre truss", "center truss", "midstage", "overhead", "over stage", "top", "bar 2", "truss 2", "second electric", "2nd electric", "lx 2", "lx2", "ceiling"}},
		{Name: "back truss", About: "over the back of the stage, behind the band", From: [3]float64{-3, 5, 4.2}, To: [3]float64{3, 5, 4.2}, back: true, words: []string{"back", "rear", "rear truss", "upstage", "upstage truss", "us", "us truss", "backlight", "back light", "back bar", "bar 3", "truss 3", "third electric", "3rd electric", "lx 3", "lx3"}},
		{Name: "left side", About: "beside the stage, on the left as the audience sees it", From: [3]float64{-4.2, 3, 0.5}, To: [3]float64{-4.2, 3, 2.5}, words: []string{"left", "left truss", "house left", "left stand", "left boom", "side left", "stage right"}},
		{Name: "right side", About: "beside the stage, on the right as the audience sees it", From: [3]float64{4.2, 3, 0.5}, To: [3]float64{4.2, 3, 2.5}, words: []string{"right", "right truss", "house right", "right stand", "right boom", "side right", "stage left"}},
		{Name: "front floor", About: "on the floor at the front edge of the stage", From: [3]float64{-2.5, 0.2, 0.2}, To: [3]float64{2.5, 0.2, 0.2}, words: []string{"floor front", "footlights", "foots", "stage edge"}},
		{Name: "back floor", About: "on the floor behind the band", From: [3]float64{-3, 5, 0.2}, To: [3]float64{3, 5, 0.2}, back: true, words: []string{"floor", "floor back", "stage floor", "deck", "ground", "behind the band"}},
		{Name: "hall", About: "front light: in the hall, towards the faces on the stage", From: [3]float64{-2, -4, 4.5}, To: [3]float64{2, -4, 4.5}, use: front, words: []string{"front of house", "foh", "foh truss", "front light", "faces", "fronts", "balcony", "gallery", "foh bar", "face"}},
		{Name: "house", About: "house lights, over the audience", From: [3]float64{-2, -8, 5}, To: [3]float64{2, -8, 5}, use: houseLight, words: []string{"house lights", "house light", "audience", "auditorium", "room", "hall lights"}},
	}
}

// PlaceNames lists the names of Places.
func PlaceNames() (names []string) {
	for _, p := range Places() {
		names = append(names, p.Name)
	}
	return names
}

// sides are words for the left and the right side at once.
func sides() []string {
	return []string{"sides", "both sides", "left and right", "side", "booms", "stands"}
}

// placeOf returns the place that words mean, or nil.
func placeOf(words string) *Place {
	w := plainWords(words)
	for _, lead := range []string{"on ", "at ", "in ", "over ", "from ", "the "} {
		w = strings.TrimPrefix(w, lead)
	}
	for _, p := range Places() {
		if w == p.Name || slices.Contains(p.words, w) {
			return &p
		}
	}
	return nil
}

// nearestPlace returns the nearest name of a place, or "".
func nearestPlace(words string) string {
	var names []string
	for _, p := range Places() {
		names = append(names, append([]string{p.Name}, p.words...)...)
	}
	if p := placeOf(language.Nearest(plainWords(words), append(names, sides()...))); p != nil {
		return p.Name
	}
	return ""
}

// plainWords returns text in small letters, its words parted by one space: "Front_Truss "
// and "front truss" are the same.
func plainWords(text string) string {
	return strings.Join(strings.FieldsFunc(strings.ToLower(text), func(r rune) bool {
		return r <= ' ' || r == '_' || r == '\u00a0'
	}), " ")
}
