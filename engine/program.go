package engine

import (
	"tactus/clock"
	"tactus/engine/flash"
	"tactus/fixtures"
)

// None is an index that stands for nothing.
const None = int32(-1)

// Program is a show with all names resolved to indexes; package shows compiles it from
// files. It is read-only once an Engine has it.
type Program struct {
	Name         string
	Heads        []Head
	Patch        *fixtures.Patch
	Looks        []Cue // the looks, each as a cue
	Effects      []Effect
	Songs        []Song
	SetList      []int32 // indexes into Songs, in the order of the night
	SetName      string
	HousePalette Palette     // of looks outside songs; all white when zero
	HouseDeep    DeepColours // of looks outside songs
	WalkIn       int32       // indexes into Looks, or None
	WalkOut      int32
	Talk         int32 // look for speech, or None
	Pad          int32 // look for a pad between songs, or None
	Notes        Notes
	RunsOn       bool       // the DAW's song position runs on from song to song
	EffectsStop  bool       // effects stop while the transport is stopped
	ReleaseFade  clock.Time // length of the fade after a hold
	// Window is how early a note or program change may come and still mean the next
	// boundary (see playback.earlyCommand); 0: not at all.
	Window       clock.Time
	Phrase       uint8      // bars of a phrase; 0 is 4
	Ease         clock.Time // length of fades of house light, work light, floors and released overrides
	Groups       []Group    // for group masters and overrides, at most MaxGroups
	Floors       []Floor
	LevelInputs  []LevelInput // universes that come in, at most MaxLevelInputs
	Faders       []Fader      // of level inputs, in order: later ones act on the light that earlier ones leave
	Haze         DutyCycle    // of hazers; the zero DutyCycle: always on
	Sends        []Send       // messages that cues send
	SectionNames []string     // for FireName and ArmName
	Universes    []string     // name of each universe, for messages and screens
}

// Head is an independently driven part of a fixture.
type Head struct {
	Name    string // "wash 3", or "bar 1 head 2" for the second head of a fixture
	Fixture int32  // index into Patch.Placements()
	At      Point
	Keep    bool // keeps its light from song to song unless a cue names it
	Spared  bool // blackout and grand master do not act on it (house light, haze)
	House   bool // part of the house light
	Work    bool // part of the work light
}

// MaxGroups is how many groups have a master.
const MaxGroups = 64

// Group is a named set of heads.
type Group struct {
	Name  string
	Heads []int32
}

// Floor is a minimum level of some heads while someone speaks: in sections marked so
// and in the talk look.
type Floor struct {
	Heads []int32
	Level float64 // 0..1, of intensity
}

// DutyCycle is on for a time at the start of every period. A period of 0 is always on.
type DutyCycle struct{ On, Every clock.Time }

func (d DutyCycle) isOn(at clock.Time) bool {
	return d.Every <= 0 || (at%d.Every+d.Every)%d.Every < d.On
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

// Sets reports whether the part sets q from Values.
func (p *Part) Sets(q fixtures.Param) bool { return p.Params&(1<<q) != 0 }

// Cue is a complete state of light at a place in a song. It contains what earlier
// cues have set, so that a jump to it and playing up to it give the same light.
type Cue struct {
	At         clock.Beat // from the song's first downbeat
	Name       string     // the look's name
	Source     string     // its place in the files, such as songs/lanterns.yaml:22; "": not known
	Parts      []Part     // in order; later ones win
	Effects    []int32    // indexes into Program.Effects, in order
	Fade       Span
	ColourFade *Span   // of colour; nil: as Fade
	Build      *Build  // how its light grows or ebbs; nil: it does not
	Pickup     int32   // 1 + the section that follows it; 0: it is no pickup
	Sends      []int32 // indexes into Program.Sends, in order
	SendsOnly  bool    // it only sends messages; the light of the cue before stays
}

// Song is one song of the show.
type Song struct {
	Name     string
	Tempo    clock.Tempo   // quarter notes a minute, at the first downbeat
	Meter    Meter         // at the first downbeat
	Meters   []MeterChange // in order of At, above 0
	Tempos   []TempoChange // likewise
	Palette  Palette
	Deep     DeepColours
	Sections []Section // in planned order, without gaps
	Cues     []Cue     // in order of At; may be empty
	Variants []Variant // cues of other passes of a section
	Program  int16     // MIDI program number 0..127 that selects it, or -1
	Flashes  int8      // allowed flashes a second, 4..10, for a stated reason; 0: flash.PerSecond
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

// FlashLimit returns the allowed flashes a second, 3..10.
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
	Climb      int8  // added to Energy with each further pass, -10..10
	Note       uint8 // MIDI note that enters it; above 127: none
	NameNumber int32 // 1 + its name's index in Program.SectionNames; 0: no name
	Loop       bool  // repeats until something else is entered
	Spoken     bool  // someone speaks: the floors act
	Sung       bool  // someone sings; the engine does nothing with it
}

// EnergyIn returns the energy, 0..10, of a pass, counted from 1.
func (s *Section) EnergyIn(pass int) int8 {
	return int8(min(10, max(0, int(s.Energy)+int(s.Climb)*max(0, pass-1))))
}
