package plan

import (
	"tactus/clock"
	"tactus/engine"
	"tactus/engine/flash"
	"tactus/fixtures"
	"tactus/shows"
)

// Rate is how many frames a second are measured at most, as many as the loop sends.
const Rate = 44

// PerQuarter is how many Columns a quarter note has.
const PerQuarter = 4

// Night is a set as it was measured.
type Night struct {
	Show  *shows.Show
	Heads []flash.Head // by head: flux, and whether it is coloured
	Stage []int32      // heads that songs light: neither kept nor house, with light
	Faces []int32      // kept heads with light that are not house: front light
	Songs []Song       // in the order of the set
}

// Song is a song of the set.
type Song struct {
	Index    int32 // in Program.Songs
	Before   int32 // the song that it follows, in Program.Songs; engine.None: the walk-in
	Name     string
	Length   clock.Beat // in quarter notes' parts
	Time     clock.Time // that it takes as planned
	Frames   int
	Sections []Section
	Columns  []Column
	Flashes  []Flashes // by area, in the engine's order; the whole rig is the last
	Strobe   Strobe
}

// Section is a part of a song, as planned: played once.
type Section struct {
	Index  int32 // in the song's sections
	Name   string
	Start  clock.Beat
	Length clock.Beat
	From   clock.Time // from the song's first downbeat
	To     clock.Time
	Energy int8 // asked for, 0..10
	Spoken bool
	Measures
}

// Measures is what the light of a section is like. What is kept (fronts, house
// lights, haze) is left out, but for Faces. Brightness, motion and faces are
// means of the middle half, of frames or of bars: see middle.
type Measures struct {
	Brightness float64 // CIE L* of the luminance, 0..100, of the stage's full
	Peak       float64 // L* of the brightest frame
	Lowest     float64 // L* of the darkest frame
	Share      float64 // of heads that are lit, 0..1
	PerSecond  float64 // motion: how far what is seen goes in Oklab a second; a blackout is about 1
	PerBeat    float64 // the same, a beat of the meter
	Chroma     float64 // mean Oklab chroma of what is lit
	Contrast   float64 // mean distance in Oklab's a, b between heads and their mean
	Away       float64 // share of the light whose colour neither the palette nor the way between two of its colours explains
	Faces      float64 // L* of the front light
	FacesLow   float64 // it is darker than this for a tenth of the time
	Flashes    float64 // most in any second of the worst area
	Strength   float64 // 0..10, to hold against Energy: mostly Brightness, then motion and Share
}

// Column is the light of a moment.
type Column struct {
	Beat       clock.Beat
	Lights     []fixtures.RGB // by head, linear, of its own full
	Brightness float64        // L* of the stage
}

// Flashes is the worst second of an area, of the light that is asked for: the
// limiter's work is not in it.
type Flashes struct {
	Area    string
	Heads   []int32
	General flash.Second
	Red     flash.Second
}

// Strobe is the fastest strobe that a fixture makes by itself.
type Strobe struct {
	Hertz float64
	Head  int32 // or engine.None
	Beat  clock.Beat
}

// none is a song without a strobe.
func none() Strobe { return Strobe{Head: engine.None} }
