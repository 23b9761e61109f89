package panel

import (
	"encoding/base64"
	"math"

	"tactus/clock"
	"tactus/clock/inwords"
	"tactus/engine"
	"tactus/fixtures"
	"tactus/shows/position"
)

// Moment is the state of the show at one frame. Indexes refer to the lists of the
// Description with the same revision; -1 is none.
type Moment struct {
	Revision uint64   `json:"revision"`
	At       int64    `json:"at"` // milliseconds since the program began
	Song     int32    `json:"song"`
	SetPlace int      `json:"setPlace"` // place in the set of the song last chosen, from 0
	Section  int32    `json:"section"`
	Cue      int32    `json:"cue"`
	Pass     int      `json:"pass"` // 1 the first time that the section plays, 2 the second and so on
	Energy   int8     `json:"energy"`
	Beat     float64  `json:"beat"`  // quarter notes from the song's first downbeat
	Place    string   `json:"place"` // the same in bars and beats
	Look     string   `json:"look"`
	Effects  []string `json:"effects"` // effects on top of the look
	BPM      float64  `json:"bpm"`     // beats a minute, as the meter counts them
	Source   string   `json:"source"`  // source of the tempo
	Sync     string   `json:"sync"`
	Playing  bool     `json:"playing"`
	ErrorMS  float64  `json:"errorMs"` // estimated error of the beat
	Feed     string   `json:"feed"`    // pattern in which clock ticks arrive
	Clock    string   `json:"clock"`   // how the clock arrives, in a few words
	Bars     string   `json:"bars"`    // offset of the DAW's bars from the bars counted here; "": none
	// The armed section or song, its place, and the quarter notes until it starts.
	Armed      int32   `json:"armed"`
	ArmedSong  int32   `json:"armedSong"`
	SongWaits  bool    `json:"songWaits"` // armedSong came by a program change; it waits for the song's end, a stop or a start from 0
	ArmedPlace string  `json:"armedPlace"`
	ArmedIn    float64 `json:"armedIn"`
	ByHand     bool    `json:"armedByHand"` // armed by the operator: notes for that beat are ignored

	Held      bool       `json:"held"`
	Blackout  bool       `json:"blackout"`
	WorkLight bool       `json:"workLight"`
	Master    float64    `json:"master"`
	Masters   []float64  `json:"masters"` // group masters, in the order of the groups, 0..1
	Overrides []Override `json:"overrides"`
	House     float64    `json:"house"` // override of the house lights, 0..1; -1: none
	Feel      int8       `json:"feel"`  // -1: half time, 1: double time
	Waves     Waves      `json:"waves"`
	// Player is the state of a rehearsal's player.
	Player *Playing `json:"player,omitempty"`
	// Light is the base64 code of HeadBytes octets for each head.
	Light string `json:"light"`
	// Slots is the base64 code of the 512 slots of each universe, if requested.
	Slots []string `json:"slots,omitempty"`
}

// Waves is where the waves of effects are: the beats and bars that they have counted, with
// half and double time and with builds. A wave of n bars begins where Bars is a multiple of n.
type Waves struct {
	Beats float64 `json:"beats"`
	Bars  float64 `json:"bars"`
}

// Override is a level that the operator has taken over.
type Override struct {
	Group int32   `json:"group"`
	What  string  `json:"what"`  // the parameter
	Level float64 `json:"level"` // 0..1
}

// HeadBytes is the number of octets for a head: red, green and blue that its
// emitters give at full (sRGB), intensity, strobe or haze (flashes a second times
// 20, or the level of haze), pan and tilt as parts of the whole travel (128 is the
// middle), and how many times as bright as that sRGB colour the light is, times 32: more
// than 32 only for deep colours.
const HeadBytes = 8

// brightOne is the octet for a colour that is as bright as its sRGB value says.
const brightOne = 32

// momentOf returns the moment of a snapshot.
func momentOf(s *engine.Snapshot, revision uint64, slots bool) Moment {
	p, st := s.Program, &s.Status
	m := Moment{
		Revision: revision, At: int64(s.Pos.At / clock.Millisecond),
		Song: st.Song, SetPlace: st.Place, Section: st.Section, Cue: st.Cue, Pass: st.Pass, Energy: st.Energy,
		Beat: round(quarters(st.Beat), 1000), Look: st.Look,
		BPM: round(s.Pos.Tempo.BPM(), 100), Source: s.Pos.Source.String(), Sync: s.Pos.Sync.String(), Playing: s.Pos.Playing,
		ErrorMS: milliseconds(s.Pos.Err),
		Feed:    s.Health.Arrivals.Feed.String(), Clock: string(inwords.Append(nil, &s.Health.Arrivals, &s.Pos)), Bars: barsWords(&s.Health.BarOffset),
		Armed: st.Armed, ArmedSong: st.SongArmed, SongWaits: st.SongWaits, ByHand: st.ByHand,
		Held: st.Held, Blackout: st.Blackout, WorkLight: st.Work, Master: round(st.Grand, 1000), House: -1, Feel: st.Feel,
		Waves:   Waves{round(st.Waves.Beats, 1e4), round(st.Waves.Bars, 1e4)},
		Effects: []string{}, Masters: make([]float64, min(len(p.Groups), engine.MaxGroups)), Overrides: []Override{},
		Light: lightOf(p, s.Heads),
	}
	if st.InForce != nil {
		m.Effects = effectNames(p, st.InForce)
	}
	for i := range m.Masters {
		m.Masters[i] = round(st.Masters[i], 1000)
	}
	for _, o := range st.Levels {
		if o.Amount > 0 {
			m.Overrides = append(m.Overrides, Override{o.Group, o.Param.String(), round(o.Level, 1000)})
		}
	}
	if st.House.Amount > 0 {
		m.House = round(st.House.Level, 1000)
	}
	if st.Song != engine.None {
		song := &p.Songs[st.Song]
		m.Place = position.Name(song, st.Beat)
		m.BPM = round(song.Meter.PerBeat(s.Pos.Tempo).BPM(), 100)
		if st.Armed != engine.None {
			m.ArmedIn = round(quarters(st.ArmedAt-st.Beat), 1000)
			m.ArmedPlace = position.Name(song, st.ArmedAt)
		}
	}
	if slots {
		for i := range s.Universes {
			m.Slots = append(m.Slots, base64.StdEncoding.EncodeToString(s.Universes[i].Slots[:]))
		}
	}
	return m
}

// lightOf encodes the light of the heads of a program.
func lightOf(p *engine.Program, states []fixtures.State) string {
	b := make([]byte, 0, len(states)*HeadBytes)
	for i := range states {
		h, at := &states[i], &p.Patch.Placements()[p.Heads[i].Fixture]
		c := headColour(p.Patch, i, h)
		bright := uint8(brightOne)
		if h.Colour().IsBright() {
			bright = brightnessOctet(c)
		}
		for _, v := range c {
			b = append(b, code8(fixtures.EncodeSRGB(v*brightOne/float64(bright))))
		}
		other := max(float64(h[fixtures.Strobe]*fixtures.MaxStrobe*20)/255, h[fixtures.Haze])
		b = append(b, code8(h[fixtures.Intensity]), code8(other), travelOctet(at.Pan, h[fixtures.Pan]), travelOctet(at.Tilt, h[fixtures.Tilt]), bright)
	}
	return base64.StdEncoding.EncodeToString(b)
}

// brightnessOctet returns how many times as bright as an sRGB value a colour is, at least 1
// and nearly 8 at most, times brightOne; rounded up, so that no component exceeds 1.
func brightnessOctet(c fixtures.RGB) uint8 {
	return uint8(min(255, math.Ceil(brightOne*max(1, c[0], c[1], c[2])-1e-9)))
}

// tungsten is the linear light of a lamp behind a dimmer, about 3000 K, chosen by
// eye.
var tungsten = fixtures.RGB{1, 0.68, 0.38}

// headColour is the colour that a head's emitters show when s asks for one; 'tactus
// colours' calculates the same.
func headColour(p *fixtures.Patch, head int, s *fixtures.State) fixtures.RGB {
	m := p.Mixer(head)
	if m == nil {
		return tungsten
	}
	var levels fixtures.Levels
	m.Mix(s.Colour(), &levels)
	return m.Light(&levels)
}

// travelOctet converts pan or tilt, -1..1 of the allowed travel, to an octet of the whole
// travel: 128 is the middle.
func travelOctet(allowed fixtures.Travel, v float64) uint8 {
	v = min(max(v, -1), 1)
	if allowed.Invert {
		v = -v
	}
	if allowed.From != 0 || allowed.To != 0 {
		v = allowed.From + allowed.To - 1 + float64(v*(allowed.To-allowed.From))
	}
	return uint8(float64(v*127) + 128)
}

// round rounds a number to 1/parts.
func round(v float64, parts float64) float64 { return math.Round(v*parts) / parts }
