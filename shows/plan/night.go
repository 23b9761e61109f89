package plan

import (
	"tactus/clock"
	"tactus/engine/flash"
	"tactus/fixtures"
	"tactus/shows"
	"tactus/shows/limits"
)

// PerQuarter is how many columns a quarter note has.
const PerQuarter = 4

// Night is a set as measured, with what was found in it.
type Night struct {
	Show     *shows.Show
	Heads    []flash.Head // by head: flux, and whether it is coloured
	Stage    []int32      // heads that songs light: shows.StageHeads
	Faces    []int32      // kept heads with light that are not house lights: front light
	Songs    []Song       // in the order of the set
	Findings []Finding    // about the whole show
}

// Song is a song of the set.
type Song struct {
	Index    int32 // in Program.Songs
	Before   int32 // the song that it follows, in Program.Songs; engine.None: the walk-in
	Name     string
	Length   clock.Beat
	Time     clock.Time // how long it takes as planned
	Frames   int        // measured; 0: it was not
	Sections []Section
	Columns  []Column  // PerQuarter to a quarter note
	Flashes  []Flashes // by area, in the engine's order; the whole rig is the last
	Strobe   Strobe
	// AllFlashes is how many flashes the song has, second by second in the area with
	// the most, in the light that is asked for. Seconds with less than a whole flash
	// are left out: light swells in them.
	AllFlashes float64
	Findings   []Finding // the most severe first, those of a severity in order of time

	judgedBy *limits.Set
	traits   *Traits // measured once; nil: not yet
}

// Section is a section of a song, played once as planned.
type Section struct {
	Index  int32 // in the song's sections
	Name   string
	Start  clock.Beat
	Length clock.Beat
	From   clock.Time // from the song's first downbeat, as To
	To     clock.Time
	Energy int8 // asked for, 0..10
	Spoken bool
	Measures

	effects [][]int32 // the lists of effects of the cues in force, in Program.Effects
}

// Measures describe the light of a section. Kept groups, house lights and haze are
// left out, except in Faces. Brightness, motion and faces are means of the middle
// half of the frames or bars: see middle.
type Measures struct {
	Brightness float64 // CIE L* of the luminance; 100 is the stage at full white, which bright deep colours can exceed
	Peak       float64 // L* of the brightest frame
	Lowest     float64 // L* of the darkest frame
	Share      float64 // of heads that are lit, 0..1
	PerSecond  float64 // motion: change a second in Oklab; a blackout is about 1
	PerBeat    float64 // motion: change a beat of the meter in Oklab
	Chroma     float64 // mean Oklab chroma of what is lit
	Contrast   float64 // mean distance in Oklab's a, b between heads and their mean
	Away       float64 // share of the light, 0..1, in colours that are neither in the palette nor between two of its colours
	Faces      float64 // L* of the front light
	FacesLow   float64 // L* that the front light is below for a tenth of the time
	Flashes    float64 // most in any second, in the area with the most
	Strength   float64 // 0..10, to compare with Energy: mostly Brightness, then motion and Share
}

// Column is the light at one place of a song.
type Column struct {
	Beat       clock.Beat
	Lights     []fixtures.RGB // by head, linear, relative to its own full
	Brightness float64        // L* of the stage
}

// Flashes is the second of an area with the most flashes, in the light that is
// asked for, before the flash limiter.
type Flashes struct {
	Area    string
	Heads   []int32
	General flash.Second
	Red     flash.Second
}

// Strobe is the fastest strobe that a fixture makes by its own shutter.
type Strobe struct {
	Hertz float64
	Head  int32 // engine.None: no strobe
	Beat  clock.Beat
}
