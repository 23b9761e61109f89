package engine

import (
	"tactus/clock"
	"tactus/fixtures"
)

// None stands for "no such thing" where an index is wanted.
const None = int32(-1)

// Program is a compiled show. It is read-only once an Engine has it.
type Program struct {
	Name      string
	Heads     []Head
	Patch     *fixtures.Patch
	Looks     []Cue // every look as a cue of its own, for commands that name one
	Effects   []Effect
	Songs     []Song
	SetList   []int32 // indexes into Songs, in the order of the night
	SetName   string
	House     Palette // colours of looks outside songs; all white when zero
	WalkIn    int32   // indexes into Looks, or None
	WalkOut   int32
	Notes     Notes
	RunsOn    bool       // the DAW's song position runs on from song to song
	Settle    bool       // effects stand still while the transport is stopped
	Unheld    clock.Time // how long the light takes to move on after a hold
	Universes []string   // name of each universe, for messages and screens
}

// Head is an independently driven part of a fixture.
type Head struct {
	Name    string // "wash 3", or "bar 1.2" for the second head of a fixture
	Fixture int32  // index into Patch.Placements()
	At      Point
	Keep    bool // songs leave it alone unless a cue names it
	Spared  bool // blackout and grand master leave it alone (house light, haze)
}

// Role is a colour's part in a palette.
type Role int8

// The roles of a palette.
const (
	Main Role = iota
	Second
	Accent
	Warm
	NumRoles
)

// Palette is a song's colours by role.
type Palette [NumRoles]fixtures.RGB

// Colour is a role of the palette in force, or a fixed colour.
type Colour struct {
	Role  Role // used when Fixed is false
	Fixed bool
	RGB   fixtures.RGB
}

// In resolves the colour with a palette.
func (c Colour) In(p *Palette) fixtures.RGB {
	if c.Fixed {
		return c.RGB
	}
	return p[c.Role]
}

// Part sets some parameters of some heads.
type Part struct {
	Heads  []int32
	Params uint16 // bit 1<<Param for each value that is set
	Values fixtures.State
	Tinted bool // Colour is set too
	Colour Colour
}

// Sets reports whether the part sets p from Values.
func (p *Part) Sets(q fixtures.Param) bool { return p.Params&(1<<q) != 0 }

// Cue is a complete state of light at a place in a song: what earlier cues set
// and this one keeps is already in it, so that jumping to it and playing up to
// it come to the same.
type Cue struct {
	At      clock.Beat // from the song's first downbeat
	Name    string     // the look's name
	Parts   []Part     // in order; later ones win
	Effects []int32    // indexes into Program.Effects, in order
	Fade    Span
}

// Song is one song of the show.
type Song struct {
	Name     string
	Tempo    clock.Tempo // quarter notes a minute
	Meter    Meter
	Palette  Palette
	Sections []Section // in planned order, without gaps
	Cues     []Cue     // by At; may be empty
	Program  int16     // MIDI program number 0..127 that selects it, or -1
}

// Length returns where the song's last section ends.
func (s *Song) Length() clock.Beat {
	if len(s.Sections) == 0 {
		return 0
	}
	last := &s.Sections[len(s.Sections)-1]
	return last.Start + last.Length
}

// Section is a part of a song.
type Section struct {
	Name   string // "chorus 2"
	Start  clock.Beat
	Length clock.Beat
	Energy int8  // 0..10
	Note   uint8 // MIDI note that enters it; above 127 there is none
}
