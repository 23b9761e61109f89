package engine

import (
	"tactus/clock"
	"tactus/engine/flash"
	"tactus/fixtures"
)

// None stands for "no such thing" where an index is wanted.
const None = int32(-1)

// Program is a compiled show. It is read-only once an Engine has it.
type Program struct {
	Name        string
	Heads       []Head
	Patch       *fixtures.Patch
	Looks       []Cue // every look as a cue of its own, for commands that name one
	Effects     []Effect
	Songs       []Song
	SetList     []int32 // indexes into Songs, in the order of the night
	SetName     string
	House       Palette // colours of looks outside songs; all white when zero
	WalkIn      int32   // indexes into Looks, or None
	WalkOut     int32
	Talk        int32 // look for speech, or None
	Pad         int32 // look for a pad between songs, or None
	Notes       Notes
	RunsOn      bool       // the DAW's song position runs on from song to song
	EffectsStop bool       // effects stand still while the transport is stopped
	ReleaseFade clock.Time // how long the light takes to move on after a hold
	// Window is how early a note or program change may come and still mean the
	// boundary ahead (see playback.early); 0: none.
	Window       clock.Time
	Phrase       uint8      // bars of a phrase; 0 is 4
	Ease         clock.Time // how long house light, work light and released overrides take
	Groups       []Group    // for group masters and overrides, at most MaxGroups
	Floors       []Floor    // under which light does not go while someone speaks
	Haze         DutyCycle  // of hazers; the zero DutyCycle leaves them alone
	Sends        []Send     // what cues send besides light
	SectionNames []string   // names of sections, for FireName and ArmName
	Universes    []string   // name of each universe, for messages and screens
}

// Head is an independently driven part of a fixture.
type Head struct {
	Name    string // "wash 3", or "bar 1.2" for the second head of a fixture
	Fixture int32  // index into Patch.Placements()
	At      Point
	Keep    bool // songs leave it alone unless a cue names it
	Spared  bool // blackout and grand master leave it alone (house light, haze)
	House   bool // house light: house up, half and out
	Work    bool // full in the work light state
}

// MaxGroups is how many groups have a master.
const MaxGroups = 64

// Group is a named set of heads.
type Group struct {
	Name  string
	Heads []int32
}

// Floor is a level that heads do not go under while someone speaks: in sections
// that are marked, and in the talk look.
type Floor struct {
	Heads []int32
	Level float64 // 0..1, of intensity
}

// DutyCycle is a cycle in seconds: on for a time out of every so long.
type DutyCycle struct{ On, Every clock.Time }

// on reports whether the cycle is on at a moment.
func (d DutyCycle) on(at clock.Time) bool {
	if d.Every <= 0 {
		return true
	}
	in := at % d.Every
	if in < 0 {
		in += d.Every
	}
	return in < d.On
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
	Heads      []int32
	Params     uint16 // bit 1<<Param for each value that is set
	Values     fixtures.State
	SetsColour bool // Colour is set too
	Colour     Colour
}

// Sets reports whether the part sets p from Values.
func (p *Part) Sets(q fixtures.Param) bool { return p.Params&(1<<q) != 0 }

// Cue is a complete state of light at a place in a song: what earlier cues set
// and this one keeps is already in it, so that jumping to it and playing up to
// it come to the same.
type Cue struct {
	At         clock.Beat // from the song's first downbeat
	Name       string     // the look's name
	Source     string     // where, such as songs/lanterns.yaml:22; "": not known
	Parts      []Part     // in order; later ones win
	Effects    []int32    // indexes into Program.Effects, in order
	Fade       Span
	ColourFade *Span   // how long colour takes, when that is not Fade
	Pickup     int32   // 1 + the section that it leads to; 0: it is no pickup
	Sends      []int32 // indexes into Program.Sends, in order
	SendsOnly  bool    // it sends, and its light is that of the cue before
}

// Song is one song of the show.
type Song struct {
	Name     string
	Tempo    clock.Tempo   // quarter notes a minute, at the first downbeat
	Meter    Meter         // at the first downbeat
	Meters   []MeterChange // by At, above 0: where another holds from
	Tempos   []TempoChange // likewise
	Palette  Palette
	Sections []Section // in planned order, without gaps
	Cues     []Cue     // by At; may be empty
	Variants []Variant // what differs in later passes of a section
	Program  int16     // MIDI program number 0..127 that selects it, or -1
	Flashes  int8      // how many a second may be, 4..10, for a stated reason; 0: flash.PerSecond
	FlashWhy string    // the reason
}

// Length returns where the song's last section ends.
func (s *Song) Length() clock.Beat {
	if len(s.Sections) == 0 {
		return 0
	}
	last := &s.Sections[len(s.Sections)-1]
	return last.Start + last.Length
}

// FlashLimit returns how many flashes a second the song may have, 3..10.
func (s *Song) FlashLimit() int { return min(MaxFlashes, max(flash.PerSecond, int(s.Flashes))) }

// The flashes a second that a song may ask for.
const (
	MinFlashes = flash.PerSecond + 1
	MaxFlashes = 10
)

// Section is a part of a song.
type Section struct {
	Name       string // "chorus 2"
	Start      clock.Beat
	Length     clock.Beat
	Energy     int8  // 0..10, in the first pass
	Climb      int8  // what each further pass adds to Energy, -10..10
	Note       uint8 // MIDI note that enters it; above 127 there is none
	NameNumber int32 // 1 + its name's place in Program.SectionNames; 0: no name
	Loop       bool  // goes round until something else is entered
	Spoken     bool  // someone speaks: the floors hold
}

// EnergyIn returns the energy of a pass, from 1; it stays within 0..10.
func (s *Section) EnergyIn(pass int) int8 {
	return int8(min(10, max(0, int(s.Energy)+int(s.Climb)*max(0, pass-1))))
}
