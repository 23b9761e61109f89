package plot

import (
	"math"

	"tactus/clock"
	"tactus/fixtures"
	"tactus/shows/plan"
)

// Night is what a set list's light came to.
type Night struct {
	Show, Venue, Set string
	Songs            []Song // in the order of the night
}

// Song is the light of one song, in time from its first downbeat.
type Song struct {
	Name     string
	Tempo    string // such as "72 bpm, 4/4"
	Length   clock.Time
	Bars     []Bar // where each begins, in order
	Sections []Section
	Rows     []Row     // a head each, those of a group together
	Light    []float64 // how bright the stage is, by column: L*/10, 0..10
	Rank     float64   // rank correlation of measured and declared energy, -1..1; NaN: there is none
	Notes    []Note    // what is to be looked at, in order of time
}

// Bar is where a bar begins.
type Bar struct {
	At     clock.Time
	Number int // in its section, from 1
}

// Section is a part of the song, with its energies, 0..10.
type Section struct {
	Name               string
	From, To           clock.Time
	Declared, Measured float64 // Measured is NaN where nothing was
}

// Row is the light of a head. Its columns share the length of the song evenly.
type Row struct {
	Name, Group string
	Light       []float64 // lightness, 0..1
	Hue         []fixtures.RGB
}

// Weight is how much a note matters.
type Weight uint8

// The weights.
const (
	Remark Weight = iota
	Warning
	Fault
)

// String names the weight.
func (w Weight) String() string {
	return [...]string{"remark", "warning", "fault", "unknown"}[min(w, 3)]
}

// Note is a thing at a place that the picture marks with a number.
type Note struct {
	At     clock.Time
	Weight Weight
	Flash  bool   // it is about flashing
	Place  string // such as "chorus 2, bar 3"
	Words  string
}

// Worst returns the heaviest note, the first of several.
func (s *Song) Worst() (Note, bool) {
	best := -1
	for i := range s.Notes {
		if best < 0 || s.Notes[i].Weight > s.Notes[best].Weight {
			best = i
		}
	}
	if best < 0 {
		return Note{}, false
	}
	return s.Notes[best], true
}

// Verdict says in words whether the light follows the song.
func (s *Song) Verdict() string {
	switch {
	case math.IsNaN(s.Rank):
		return "too little to compare"
	case s.Rank >= 0.8:
		return "light follows the song"
	case s.Rank >= plan.FollowLeast:
		return "light mostly follows the song"
	case s.Rank > 0:
		return "light hardly follows the song"
	default:
		return "light does not follow the song"
	}
}

// columns returns how many there are.
func (s *Song) columns() int { return len(s.Light) }
