package shows_test

import (
	"fmt"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/google/go-cmp/cmp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/clock"
	"tactus/engine"
	"tactus/fixtures"
	"tactus/shows"
	"tactus/shows/language"
)

// with lays files over good/plain and compiles them.
func with(t *testing.T, files map[string]string) *shows.Show {
	t.Helper()
	show, problems := shows.Load(over(t, files), shows.Options{})
	require.NoError(t, problems.Err())
	return show
}

func over(t testing.TB, files map[string]string) fstest.MapFS {
	t.Helper()
	all := folder(t, shelf+"/good/plain")
	for name, src := range files {
		all[name] = &fstest.MapFile{Data: []byte(src), Mode: 0o644}
	}
	return all
}

// look3 has three looks; "lit" also tells the kept front light.
const look3 = `
palette: {main: "#ffffff", second: "#1fa39a", accent: "#ffb040", warm: "#808080"}
looks:
  "on": {set: {lamps: {colour: main, intensity: 50 %}}, effects: wave, fade: 2 bars}
  "off": {set: {lamps: {intensity: 0 %}}}
  lit: {set: {lamps: {intensity: 20 %}, front: {intensity: 30 %}}, effects: [wave, tint]}
effects:
  wave: {on: lamps, wave: sine, moves: intensity, period: 2 bars}
  tint: {on: lamps, wave: sine, moves: colour, from: main, to: "#ff0000", period: 2 bars, path: left-right}
`

func song(cues string) string {
	return `
song: Song
tempo: 60 bpm
meter: 4/4
sections:
  - verse: {bars: 8, energy: 3, look: "on"}
  - chorus: {bars: 8, energy: 6}
cues:
` + cues
}

// short prints a cue on one line.
func short(c engine.Cue) string {
	var b strings.Builder
	summariseCue(&b, &c)
	return strings.ReplaceAll(strings.TrimSpace(b.String()), "\n", ";")
}

// A cue that names no look keeps the look, one without effects keeps effects,
// levels stay until the next look, and what a kept group was told stays for good.
func TestTracking(t *testing.T) {
	show := with(t, map[string]string{"looks.yaml": look3, "songs/song.yaml": song(`
  - {at: "verse, bar 2", set: {front: {intensity: 70 %}}, fade: 3 s}
  - {at: "verse, bar 3", effects: none}
  - {at: "verse, bar 4", set: {lamp 1: {intensity: 90 %}}}
  - {at: "verse, bar 5", look: "off"}
  - {at: "verse, bar 6", look: lit, effects: [tint]}
  - {at: "verse, bar 7", look: "on", fade: snap}
  - {at: chorus - 1/2 beat, set: {front: {intensity: 0 %}}}
`)})
	want := []string{
		"on over 2/1 bars, effects [0];    [0 1]: main intensity 0.500",
		"on over 3000 ms, effects [0];    [0 1]: main intensity 0.500;    [2]: intensity 0.700",
		"on over 0/1 beats, effects [];    [0 1]: main intensity 0.500;    [2]: intensity 0.700",
		"on over 0/1 beats, effects [];    [0 1]: main intensity 0.500;    [0]: intensity 0.900;    [2]: intensity 0.700",
		"off over 0/1 beats, effects [];    [0 1]: intensity 0.000;    [2]: intensity 0.700",
		"lit over 0/1 beats, effects [1];    [0 1]: intensity 0.200;    [2]: intensity 0.300",
		"on over 0/1 beats, effects [0];    [0 1]: main intensity 0.500;    [2]: intensity 0.300",
		"on over 0/1 beats, effects [0];    [0 1]: main intensity 0.500;    [2]: intensity 0.000",
	}
	var got []string
	for _, c := range show.Program.Songs[0].Cues {
		got = append(got, short(c))
	}
	assert.Empty(t, cmp.Diff(want, got), "cues differ (-want +got)")
	q := clock.Quarter
	assert.Equal(t, 32*q-q/2, show.Program.Songs[0].Cues[7].At, "the last cue")
}

// What a kept head was told adds up over cues, parameter by parameter.
func TestKeptParametersAddUp(t *testing.T) {
	show := with(t, map[string]string{
		"looks.yaml": look3,
		"rig.yaml": `
venue: Hall
universes: {u1: {virtual: yes}}
fixtures:
  lamp 1-2: {profile: dimmer-rgb, universe: u1, address: 1}
  front: {profile: dimmer-rgb, universe: u1, address: 9}
  hazer: {profile: hazer, universe: u1, address: 20}
groups: {lamps: lamp 1-2}
keep: [front, hazer]
`,
		"songs/song.yaml": song(`
  - {at: "verse, bar 2", set: {hazer: {haze: 70 %}, front: {colour: warm}}}
  - {at: "verse, bar 3", set: {hazer: {fan: 20 %}, front: {intensity: 10 %}}}
  - {at: "verse, bar 4", set: {hazer: {haze: 0 %}, front: {colour: main}}, look: "off"}
`),
	})
	cues := show.Program.Songs[0].Cues
	want := "off over 0/1 beats, effects [];    [0 1]: intensity 0.000;    [3]: haze 0.000 fan 0.200;    [2]: main intensity 0.100"
	assert.Equal(t, want, short(cues[3]))
}

// Looks keep their roles, for the house's palette outside songs, and their
// index by file order.
func TestLooksOutsideSongs(t *testing.T) {
	p := with(t, map[string]string{
		"looks.yaml":  look3,
		"sets/a.yaml": "set: A\nsongs: [Song]\nwalk-in: lit\nwalk-out: \"off\"\n",
	}).Program
	assert.EqualValues(t, 2, p.WalkIn, "walk-in is look, look 2")
	assert.EqualValues(t, 1, p.WalkOut, "walk-in is look, look 2")
	assert.Equal(t, "lit", p.Looks[2].Name, "walk-in is look, look 2")
	assert.Equal(t, fixtures.RGB{1, 1, 1}, p.HousePalette[engine.Main])
	assert.Equal(t, engine.Colour{Role: engine.Main}, p.Looks[0].Parts[0].Colour)
	assert.Equal(t, []int32{0, 1}, p.Looks[2].Effects)
	assert.Len(t, p.Effects, 2)
	assert.Equal(t, p.HousePalette, p.Songs[0].Palette, "a song without a palette")
}

// Values of sRGB in linear light: c/12.92 up to 0.04045, above it
// ((c + 0.055)/1.055)^2.4 (IEC 61966-2-1). 0x80 is 0.215861 (computed by hand
// from the formula), 0x0a is 10/255/12.92.
func TestLinear(t *testing.T) {
	got, _ := fixtures.ParseColour("#80ff0A", fixtures.D65())
	for i, want := range []float64{0.21586050011389926, 1, 10.0 / 255 / 12.92} {
		assert.InDelta(t, want, got[i], 1e-12, "component %d", i)
	}
	last := -1.0
	for i := range 256 {
		l := fixtures.DecodeSRGB(float64(i) / 255)
		require.Greater(t, l, last, "%d is not brighter than %d", i, i-1)
		last = l
	}
}

func TestQuantities(t *testing.T) {
	v := func(text string) *language.Value { return &language.Value{Text: text} }
	for text, want := range map[string]engine.Span{
		"2 bars":   {Length: engine.Length{Num: 2, Den: 1, Bars: true}},
		"2/4 beat": {Length: engine.Length{Num: 1, Den: 2}},
		"1beat":    {Length: engine.Length{Num: 1, Den: 1}},
		"3 s":      {Length: engine.Length{Den: 1}, Time: 3 * clock.Second},
		"0.25 s":   {Length: engine.Length{Den: 1}, Time: 250 * clock.Millisecond},
		"500 ms":   {Length: engine.Length{Den: 1}, Time: 500 * clock.Millisecond},
		"0 s":      {Length: engine.Length{Den: 1}},
		"snap":     {Length: engine.Length{Den: 1}},
	} {
		assert.Equal(t, want, v(text).Span(), "%q", text)
	}
	for text, want := range map[string]float64{"40 %": 0.4, "100%": 1, "0.5 %": 0.005} {
		assert.InDelta(t, want, v(text).Share(9), 1e-15, "%q", text)
	}
}

func TestRangesAndRows(t *testing.T) {
	p := with(t, map[string]string{"rig.yaml": `
venue: Hall
universes: {u1: {virtual: yes}, u2: {art-net: 3, to: [2.0.0.10, 2.0.0.11]}}
fixtures:
  lamp 1-2: {profile: dimmer-rgb, universe: u1, address: 1, every: 10, from: [-1 m, 0 m, 4 m], to: [1 m, 0 m, 4 m]}
  front: {profile: dimmer, universe: u1, address: 100}
  bar: {profile: rgb-bar-4, universe: u2, address: 5, from: [0 m, 1 m, 0 m], to: [3 m, 1 m, 0 m]}
groups:
  both: [lamps, bar head 3]
  lamps: lamp 1-2
keep: front
blackout spares: [front, bar head 4]
`}).Program
	var got []string
	for _, h := range p.Heads {
		got = append(got, h.Name)
	}
	assert.Equal(t, []string{"lamp 1", "lamp 2", "front", "bar head 1", "bar head 2", "bar head 3", "bar head 4"}, got, "heads")
	assert.Equal(t, engine.Point{X: -1, Y: 0, Z: 4}, p.Heads[0].At, "lamp 1 hangs")
	assert.Equal(t, engine.Point{X: 2, Y: 1, Z: 0}, p.Heads[5].At, "bar head 3 hangs")
	assert.Equal(t, 11, p.Patch.Placements()[1].Address, "lamp 2 starts")
	assert.True(t, p.Heads[2].Keep, "kept or spared wrongly: %+v", p.Heads)
	assert.True(t, p.Heads[6].Spared, "kept or spared wrongly: %+v", p.Heads)
	assert.False(t, p.Heads[5].Spared, "kept or spared wrongly: %+v", p.Heads)
}

func TestNotesAndPrograms(t *testing.T) {
	p := with(t, map[string]string{
		"songs/song.yaml":  song("  - {at: chorus, look: \"off\"}\n"),
		"songs/third.yaml": "song: Third\nprogram: 10\ntempo: 60 bpm\nmeter: 6/8\nsections:\n  - a: {bars: 1, energy: 1, note: 36}\n  - a: {bars: 1, energy: 1}\n  - a: {bars: 1, energy: 1}\n",
		"songs/two.yaml":   "song: Two\ntempo: 60 bpm\nmeter: 3/4\nsections:\n  - a: {bars: 1, energy: 1}\n",
		"sets/night.yaml":  "set: Night\nsongs: [two, third, Song]\n",
		"show.yaml":        "show: Plain\ndaw: {channels: {arm at bar: none, control: any}, notes: {hold: none, tap: 1}}\non exit: terminate\nclock: [tap]\n",
	}).Program
	assert.Equal(t, []int32{2, 1, 0}, p.SetList, "set list")
	// Two is first, Song third; Third has a program of its own.
	for program, want := range map[uint8]int32{0: 2, 2: 0, 9: 1, 1: engine.None} {
		assert.Equal(t, want, p.Notes.ByProgram[program], "program %d selects", program)
	}
	got := p.Songs[1].Sections
	assert.EqualValues(t, 36, got[0].Note, "notes of sections")
	assert.EqualValues(t, 37, got[1].Note, "notes of sections")
	assert.EqualValues(t, 38, got[2].Note, "notes of sections")
	assert.Equal(t, "a 3", got[2].Name, "notes of sections")
	assert.Equal(t, clock.BPM(90), p.Songs[1].Tempo, "60 dotted quarters")
	n := p.Notes
	assert.EqualValues(t, 1, n.Fire, "notes")
	assert.Equal(t, [4]uint8{2, 0, 4}, n.Arm, "notes")
	assert.Zero(t, n.Control, "notes")
	assert.EqualValues(t, 1, n.Tap, "notes")
	assert.Zero(t, n.Controls[96], "notes")
	assert.Equal(t, engine.Release, n.Controls[97], "notes")
}

func TestSetsAreChosen(t *testing.T) {
	files := over(t, map[string]string{
		"sets/a.yaml": "set: First\nsongs: [song]\nwalk-in: \"on\"\n",
		"sets/b.yaml": "set: Second\nsongs: [Song]\n",
	})
	for ask, want := range map[string]string{"": "First", "b": "Second", "Second": "Second", "a": "First"} {
		show, problems := shows.Load(files, shows.Options{Set: ask})
		if assert.NoError(t, problems.Err(), "set %q", ask) {
			assert.Equal(t, want, show.Program.SetName, "set %q", ask)
			assert.Len(t, show.Sets, 2, "set %q", ask)
		}
	}
	_, problems := shows.Load(files, shows.Options{Set: "secnod"})
	assert.Equal(t, `sets: no set list "secnod" (did you mean "Second"?); set lists are: First, Second`, problems.Error())
}

func TestOutputs(t *testing.T) {
	show := with(t, map[string]string{"rig.yaml": `
venue: Hall
sacn: {interface: en0, sync universe: 7962}
artnet: {interface: 2.0.0.1, sync: yes, poll: no}
universes:
  plain: {sacn: 1}
  direct: {sacn: 2, to: 10.0.0.7, priority: 0, rate: 40 Hz, send: on change}
  both: {sacn: 63999, to: [10.0.0.7, 10.0.0.8], multicast: yes}
  found: {art-net: 0}
  loud: {art-net: 32767, broadcast: yes}
  paper: {virtual: yes}
fixtures:
  lamp 1-2: {profile: dimmer-rgb, universe: plain, address: 1}
  front: {profile: dimmer, universe: paper, address: 512}
groups: {lamps: lamp 1-2}
`})
	var b strings.Builder
	b.WriteString(strings.Split(summary(show), "\n")[2] + "\n")
	for _, u := range show.Outputs.Universes {
		fmt.Fprintf(&b, "%s %s %d priority %d to %v multicast %v broadcast %v rate %d on change %v\n",
			u.Name, u.Protocol, u.Number, u.Priority, u.To, u.Multicast, u.Broadcast, u.Rate, u.OnChange)
	}
	want := `sacn {SourceName:Plain Interface:en0 Sync:7962}, artnet {Interface:2.0.0.1 Sync:true Poll:false}
plain sACN 1 priority 100 to [] multicast true broadcast false rate 44 on change false
direct sACN 2 priority 0 to [10.0.0.7] multicast false broadcast false rate 40 on change true
both sACN 63999 priority 100 to [10.0.0.7 10.0.0.8] multicast true broadcast false rate 44 on change false
found Art-Net 0 priority 100 to [] multicast false broadcast false rate 44 on change false
loud Art-Net 32767 priority 100 to [] multicast false broadcast true rate 44 on change false
paper virtual 0 priority 100 to [] multicast false broadcast false rate 44 on change false
`
	assert.Empty(t, cmp.Diff(want, b.String()), "outputs differ (-want +got)")
}

// Effects on pan and tilt swing about the look by default; a strobe is not for
// effects.
func TestEffectsMoveHeads(t *testing.T) {
	const rig = "venue: Hall\nuniverses: {u1: {virtual: yes}}\nfixtures:\n" +
		"  lamp 1-3: {profile: head-rgbw, universe: u1, address: 1}\n  front: {profile: dimmer-rgbawuv, universe: u1, address: 100}\n" +
		"groups: {lamps: lamp 1-3}\nkeep: front\n"
	looks := func(effects string) map[string]string {
		return map[string]string{"rig.yaml": rig, "looks.yaml": look3[:strings.Index(look3, "effects:\n")] + "effects:\n" +
			"  wave: {on: lamps, wave: sine, moves: intensity, period: 2 bars}\n  tint: {on: lamps, wave: sine, moves: red, period: 2 bars}\n" + effects}
	}
	show := with(t, looks("  nod: {on: lamps, wave: sine, moves: tilt, period: 4 bars, depth: 20 %}\n"+
		"  turn: {on: lamps, wave: sine, moves: pan, blend: replace, period: 4 bars}\n"+
		"  glow: {on: front, wave: sine, moves: uv, period: 4 bars}\n"))
	for i, want := range []engine.Effect{
		{Name: "nod", Param: fixtures.Tilt, Blend: engine.Swing},
		{Name: "turn", Param: fixtures.Pan, Blend: engine.Replace},
		{Name: "glow", Param: fixtures.UV, Blend: engine.Scale},
	} {
		e := show.Program.Effects[2+i]
		assert.Equal(t, want.Name, e.Name)
		assert.Equal(t, want.Param, e.Param)
		assert.Equal(t, want.Blend, e.Blend)
	}
	for bad, says := range map[string]string{
		"  no: {on: front, wave: sine, moves: pan, period: 4 bars}\n":      "none of these fixtures has pan",
		"  no: {on: lamps, wave: sine, moves: uv, period: 4 bars}\n":       "none of these fixtures has uv",
		"  no: {on: lamps, wave: square, moves: strobe, period: 4 bars}\n": `"strobe"`,
	} {
		_, problems := shows.Load(over(t, looks(bad)), shows.Options{})
		assert.Error(t, problems.Err(), bad)
		assert.Contains(t, fmt.Sprint(problems), says, bad)
	}
}
