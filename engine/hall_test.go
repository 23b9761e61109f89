package engine

import (
	"testing"

	"github.com/stretchr/testify/require"

	"tactus/clock"
	"tactus/fixtures"
)

// The small hall that the tests of playback share. testdata/frames/README.md
// says the same in words.
const (
	wash1 = iota
	wash2
	lamp1
	lamp2
	lamp3
	lamp4
	front
	house
	hazer
	hallHeads
)

var (
	washes = []int32{wash1, wash2}
	lamps  = []int32{lamp1, lamp2, lamp3, lamp4}
)

// Effects of the hall.
const (
	chase = iota // the lamps, a beat each
	swell        // the washes, over two bars
	tint         // the washes from main to second and back, over a bar
	rock         // lamps, a ramp over a bar
)

const quarter = clock.Quarter

// hall builds the program.
func hall(t testing.TB) *Program {
	t.Helper()
	p := &Program{
		Name: "hall", SetName: "night", Effects: hallEffects(), Looks: hallLooks(), WalkIn: 0, WalkOut: 1, Talk: 2, Pad: None,
		Songs:   []Song{longShore(), twoTides(), oddBuoy(), quietPier()},
		SetList: []int32{0, 1, 0, 2, 3}, Notes: NewNotes(), ReleaseFade: clock.Second,
		Phrase: 2, Ease: clock.Second,
		Groups:       []Group{{"washes", washes}, {"lamps", lamps}, {"front", []int32{front}}},
		Floors:       []Floor{{Heads: []int32{front}, Level: 0.3}},
		LevelInputs:  []LevelInput{{Name: "house desk", Wire: "sACN 11"}, {Name: "foyer", Wire: "sACN 12", Hold: true}},
		Faders:       hallFaders(),
		HousePalette: Palette{Main: {1, 1, 1}, Second: {0, 0, 1}, Accent: {0, 1, 0}, Warm: {1, 0.6, 0.2}},
	}
	rgb, dimmer, haze := hallProfiles(t)
	var at []fixtures.Placement
	place := func(name string, pr *fixtures.Profile, address int, h Head) {
		h.Name, h.Fixture = name, int32(len(at))
		at = append(at, fixtures.Placement{Name: name, Profile: pr, Address: address, Head: len(p.Heads)})
		p.Heads = append(p.Heads, h)
	}
	place("wash 1", rgb, 1, Head{At: Point{X: -2}})
	place("wash 2", rgb, 4, Head{At: Point{X: 2}})
	for i, name := range []string{"lamp 1", "lamp 2", "lamp 3", "lamp 4"} {
		place(name, dimmer, 7+i, Head{At: Point{X: float64(2*i - 3)}})
	}
	place("front", dimmer, 11, Head{Keep: true, Work: true})
	place("house", dimmer, 12, Head{Keep: true, Spared: true, House: true})
	place("hazer", haze, 13, Head{Keep: true, Spared: true})
	patch, err := fixtures.NewPatch(1, at)
	require.NoError(t, err)
	p.Patch = patch
	return p
}

// hallFaders has a fader of each kind, two on the same heads, two on the same slot.
func hallFaders() []Fader {
	return []Fader{
		{Input: 0, Slot: 3, Name: "washes", Heads: washes, Takes: TakesHighest},
		{Input: 0, Slot: 1, Name: "lamps", Heads: lamps, Takes: TakesLast},
		{Input: 0, Slot: 512, Name: "front", Heads: []int32{front}, Takes: TakesLast},
		{Input: 1, Slot: 3, Name: "lamps", Heads: lamps, Takes: TakesScale},
		{Input: 1, Slot: 3, Name: "house", Heads: []int32{house}, Takes: TakesHighest},
	}
}

func hallProfiles(t testing.TB) (rgb, dimmer, haze *fixtures.Profile) {
	t.Helper()
	level := func(params ...fixtures.Param) *fixtures.Profile {
		var cs []fixtures.Channel
		for _, q := range params {
			cs = append(cs, fixtures.Channel{Param: q})
		}
		p, err := fixtures.NewProfile("", "", cs)
		require.NoError(t, err)
		return p
	}
	return level(fixtures.Red, fixtures.Green, fixtures.Blue), level(fixtures.Intensity), level(fixtures.Haze, fixtures.Fan)
}

func hallEffects() []Effect {
	bar := Length{Num: 1, Den: 1, Bars: true}
	square := Wave{Kind: Square, High: 1, Duty: 0.25, Skew: 0.5}
	triangle := Wave{Kind: Triangle, High: 1, Skew: 0.5}
	ramp := Wave{Kind: Ramp, High: 1, Skew: 0.5}
	row := []Point{{X: -3}, {X: -1}, {X: 1}, {X: 3}}
	effects := []Effect{
		chase: {
			Name: "chase", Heads: lamps, Offsets: LeftRight.Offsets(row, 0, Even), Wave: square,
			Period: bar, Pulses: 1, Depth: 1, Blend: Scale, Param: fixtures.Intensity,
		},
		swell: {
			Name: "swell", Heads: washes, Offsets: make([]clock.Phase, 2), Wave: triangle,
			Period: Length{Num: 2, Den: 1, Bars: true}, Pulses: 1, Depth: 0.5, Blend: Scale, Param: fixtures.Intensity,
		},
		tint: {
			Name: "tint", Heads: washes, Offsets: make([]clock.Phase, 2), Wave: triangle,
			Period: bar, Pulses: 1, Depth: 1, Blend: Replace, MovesColour: true, From: Colour{Role: Main}, To: Colour{Role: Second},
		},
		rock: {
			Name: "rock", Heads: lamps, Offsets: make([]clock.Phase, 4), Wave: ramp,
			Period: bar, Pulses: 1, Depth: 1, Blend: Replace, Param: fixtures.Intensity,
		},
	}
	for k := range NumWaves { // wave 0 is effect rock+1, and so on
		w := PlainWave(k)
		w.Cells, w.Seed = 4, 1
		effects = append(effects, Effect{
			Name: k.String(), Heads: lamps, Offsets: LeftRight.Offsets(row, 0, Even),
			Wave: w, Period: bar, Pulses: 1, Depth: 1, Blend: Replace, Param: fixtures.Intensity,
		})
	}
	return effects
}

// level sets the intensity of heads, and their colour to a role.
func level(heads []int32, intensity float64, role Role) Part {
	return Part{
		Heads: heads, Params: 1 << fixtures.Intensity, Values: fixtures.State{fixtures.Intensity: intensity},
		SetsColour: true, Colour: Colour{Role: role},
	}
}

// dim sets the intensity of one head.
func dim(head int32, intensity float64) Part {
	return Part{
		Heads: []int32{head}, Params: 1 << fixtures.Intensity, Values: fixtures.State{fixtures.Intensity: intensity},
	}
}

func haze(output, fan float64) Part {
	return Part{
		Heads: []int32{hazer}, Params: 1<<fixtures.Haze | 1<<fixtures.Fan,
		Values: fixtures.State{fixtures.Haze: output, fixtures.Fan: fan},
	}
}

var snap = Span{}

func beats(n int32) Span            { return Span{Length: Length{Num: n, Den: 1}} }
func seconds(n clock.Time) Span     { return Span{Time: n * clock.Second} }
func bars(m Meter, n int) beat      { return beat(n) * m.Bar() }
func at(b beat, c Cue) Cue          { c.At = b; return c }
func named(n string, c Cue) Cue     { c.Name = n; return c }
func cue(f Span, parts ...Part) Cue { return Cue{Fade: f, Parts: parts} }

type beat = clock.Beat

// also is a cue that keeps what an earlier one set.
func also(c Cue, p Part) Cue { c.Parts = append([]Part{p}, c.Parts...); return c }

func with(c Cue, effects ...int32) Cue { c.Effects = effects; return c }

func hallLooks() []Cue {
	looks := []Cue{
		named("walk-in", cue(seconds(2), dim(front, 0.6), dim(house, 0.5), haze(0.25, 0.5), level(washes, 0.4, Warm))),
		named("walk-out", cue(seconds(4), dim(front, 0.5), dim(house, 1), level(washes, 0.2, Warm))),
		named("talk", cue(seconds(2), dim(front, 1), level(washes, 0.2, Second))),
		named("jam", with(cue(snap, level(lamps, 1, Main)), chase)),
	}
	for k := range NumWaves {
		looks = append(looks, named(k.String(), with(cue(snap), rock+1+int32(k))))
	}
	return looks
}

// sections lays sections of so many bars end to end; notes count up from 60.
func sections(m Meter, plan ...any) []Section {
	var ss []Section
	var start beat
	for i := 0; i < len(plan); i += 2 {
		length := beat(plan[i+1].(float64) * float64(m.Bar()))
		ss = append(ss, Section{Name: plan[i].(string), Start: start, Length: length, Note: uint8(60 + i/2)})
		start += length
	}
	return ss
}

func longShore() Song {
	m := Meter{4, 4}
	full := named("full", with(cue(snap, level(washes, 1, Main), level(lamps, 1, Main)), chase))
	return Song{
		Name: "Long Shore", Tempo: clock.BPM(120), Meter: m, Program: 1,
		Palette:  Palette{Main: {1, 0, 0}, Second: {0, 0, 1}, Accent: {0, 1, 0}, Warm: {1, 0.6, 0.2}},
		Sections: sections(m, "intro", 2.0, "verse", 4.0, "chorus 1", 4.0, "bridge", 4.0, "chorus 2", 4.0, "chorus 3", 2.0, "outro", 2.0),
		Cues: []Cue{
			named("dawn", cue(beats(4), level(washes, 1, Main))),
			at(8*quarter, named("calm", cue(seconds(2), level(washes, 1, Second), level(lamps, 0.2, Main)))),
			at(24*quarter, full),
			at(39*quarter, named("dark", cue(snap))),
			at(40*quarter, named("glow", with(cue(snap, level(washes, 1, Accent)), swell))),
			at(48*quarter, named("shine", with(cue(beats(4), level(washes, 1, Main), dim(front, 0.8)), tint))),
			at(56*quarter, also(full, dim(front, 0.8))),
			at(80*quarter, named("dusk", cue(beats(8), dim(front, 0.8), level(washes, 0.2, Warm)))),
		},
	}
}

func twoTides() Song {
	m := Meter{6, 8}
	return Song{
		Name: "Two Tides", Tempo: m.Quarters(clock.BPM(60)), Meter: m, Program: 2,
		Palette:  Palette{Main: {0, 1, 0}, Second: {0, 1, 1}, Accent: {1, 0, 1}, Warm: {1, 0.6, 0.2}},
		Sections: sections(m, "verse", 4.0, "chorus", 4.0, "tag", 1.0),
		Cues: []Cue{
			named("calm", cue(beats(2), level(washes, 1, Main))),
			at(bars(m, 4), named("tide", with(cue(snap, level(washes, 1, Second)), rock))),
		},
	}
}

func oddBuoy() Song {
	m := Meter{7, 16}
	return Song{
		Name: "Odd Buoy", Tempo: clock.BPM(120), Meter: m, Program: 3,
		Palette:  Palette{Main: {1, 1, 0}, Second: {0, 0, 1}, Accent: {0, 1, 0}, Warm: {1, 0.6, 0.2}},
		Sections: sections(m, "verse", 3.0, "tag", 1.0, "chorus", 3.0),
		Cues: []Cue{
			named("low", cue(snap, level(washes, 0.2, Main))),
			at(bars(m, 3), named("turn", cue(snap, level(washes, 0.4, Second)))),
			at(bars(m, 4), named("high", with(cue(snap, level(washes, 1, Main)), rock))),
		},
	}
}

func quietPier() Song {
	m := Meter{4, 4}
	return Song{
		Name: "Quiet Pier", Tempo: clock.BPM(120), Meter: m, Program: 4,
		Palette:  Palette{Main: {0, 0, 1}, Second: {1, 1, 1}, Accent: {0, 1, 0}, Warm: {1, 0.6, 0.2}},
		Sections: sections(m, "hush", 1.0, "verse", 2.5, "chorus", 2.0),
		Cues:     []Cue{at(4*quarter, named("blue", cue(beats(2), level(washes, 1, Main))))},
	}
}

// slackWater is a song as songs are played: a chorus that goes round, cues by
// pass, a pickup, a fade that lands, speech, and a light for afterwards.
func slackWater() Song {
	m := Meter{4, 4}
	lit := func(name string, level float64) Cue { return named(name, cue(snap, dims(lamps, level))) }
	dark := at(15*quarter, named("dark", cue(snap)))
	dark.Pickup = 3
	s := Song{
		Name: "Slack Water", Tempo: clock.BPM(120), Meter: m, Program: 5,
		Palette:  Palette{Main: {1, 0, 0}, Second: {0, 0, 1}, Accent: {0, 1, 0}, Warm: {1, 0.6, 0.2}},
		Sections: sections(m, "verse", 2.0, "chorus", 2.0, "bridge", 2.0, "words", 1.0, "outro", 1.0),
		Cues: []Cue{
			lit("calm", 0.2),
			at(8*quarter, lit("first", 0.4)),
			dark,
			at(16*quarter, lit("glow", 0.6)),
			at(20*quarter, named("rise", cue(beats(4), dims(lamps, 1)))), // lands on the words
			at(24*quarter, named("words", cue(snap, dims(lamps, 0.2), dim(front, 0.1)))),
			at(28*quarter, named("last light", cue(snap, dims(lamps, 0.8), dim(front, 0.1)))),
			at(32*quarter, named("dark, fronts out", cue(beats(2), dim(front, 0)))),
		},
		Variants: []Variant{
			{Section: 1, Pass: AgainPass, Cues: []Cue{at(8*quarter, lit("again", 0.6))}},
			{Section: 1, Pass: 3, Cues: []Cue{at(8*quarter, lit("third", 0.8))}},
			{Section: 1, Pass: LastPass, Cues: []Cue{at(8*quarter, lit("last", 1))}},
		},
	}
	s.Sections[1].Loop, s.Sections[1].Energy, s.Sections[1].Climb = true, 5, 2
	s.Sections[3].Spoken = true
	return s
}

// asPlayed is the hall with that song too, and with a window for notes that
// come a little early.
func asPlayed(t testing.TB) *Program {
	p := hall(t)
	p.Window = 120 * clock.Millisecond
	p.Songs = append(p.Songs, slackWater(), fogBell(), crookedMile())
	quiet := Song{Name: "Long Fog", Tempo: clock.BPM(120), Meter: Meter{4, 4}, Program: 7, Sections: sections(Meter{4, 4}, "hush", 1.0, "verse", 1.0)}
	quiet.Cues = []Cue{{Sends: []int32{5}, SendsOnly: true}, at(4*quarter, cue(snap, dims(lamps, 1)))}
	p.Songs = append(p.Songs, quiet, lampBlack())
	for _, text := range []string{"welcome", "verse", "line two", "chorus", "bell", "fog"} {
		p.Sends = append(p.Sends, Send{To: ToOSC, Bytes: []byte(text), Text: text})
	}
	p.Looks[p.WalkIn].Sends = []int32{0}
	p.SectionNames = []string{"verse", "chorus"}
	return p
}

// fogBell is a song whose cues send: one of them does only that, while the
// light of the cue before is still on its way.
func fogBell() Song {
	m := Meter{4, 4}
	s := Song{
		Name: "Fog Bell", Tempo: clock.BPM(120), Meter: m, Program: 6,
		Palette:  Palette{Main: {1, 0, 0}, Second: {0, 0, 1}, Accent: {0, 1, 0}, Warm: {1, 0.6, 0.2}},
		Sections: sections(m, "verse", 2.0, "chorus", 2.0, "outro", 1.0),
		Cues: []Cue{
			named("calm", cue(beats(8), dims(lamps, 1))),
			at(4*quarter, named("calm", cue(beats(8), dims(lamps, 1)))),
			at(8*quarter, named("first", cue(snap, dims(lamps, 0.4)))),
		},
	}
	s.Cues[0].Sends, s.Cues[1].Sends, s.Cues[2].Sends = []int32{1}, []int32{2}, []int32{3, 4}
	s.Cues[1].SendsOnly = true
	s.Sections[0].NameNumber, s.Sections[1].NameNumber, s.Sections[1].Loop = 1, 2, true
	return s
}

// dims sets the intensity of heads.
func dims(heads []int32, intensity float64) Part {
	p := dim(heads[0], intensity)
	p.Heads = heads
	return p
}
