package shows

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/google/go-cmp/cmp"

	"tactus/clock"
	"tactus/engine"
	"tactus/fixtures"
	"tactus/shows/language"
)

// with lays files over good/plain and compiles them.
func with(t *testing.T, files map[string]string) *Show {
	t.Helper()
	show, problems := Load(over(t, files), Options{})
	if err := problems.Err(); err != nil {
		t.Fatal(err)
	}
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
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("cues differ (-want +got):\n%s", diff)
	}
	q := clock.Quarter
	if at := show.Program.Songs[0].Cues[7].At; at != 32*q-q/2 {
		t.Errorf("the last cue is at %d, want %d", at, 32*q-q/2)
	}
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
	if got := short(cues[3]); got != want {
		t.Errorf("got  %s\nwant %s", got, want)
	}
}

// Looks keep their roles, for the house's palette outside songs, and their
// index by file order.
func TestLooksOutsideSongs(t *testing.T) {
	p := with(t, map[string]string{
		"looks.yaml":  look3,
		"sets/a.yaml": "set: A\nsongs: [Song]\nwalk-in: lit\nwalk-out: \"off\"\n",
	}).Program
	if p.WalkIn != 2 || p.WalkOut != 1 || p.Looks[2].Name != "lit" {
		t.Errorf("walk-in is look %d, walk-out %d, look 2 is %q", p.WalkIn, p.WalkOut, p.Looks[2].Name)
	}
	if p.House[engine.Main] != (fixtures.RGB{1, 1, 1}) || p.Looks[0].Parts[0].Colour != (engine.Colour{Role: engine.Main}) {
		t.Errorf("house %v, look %+v", p.House, p.Looks[0].Parts[0])
	}
	if want := []int32{0, 1}; !slices.Equal(p.Looks[2].Effects, want) || len(p.Effects) != 2 {
		t.Errorf("effects %v of %d, want %v of 2", p.Looks[2].Effects, len(p.Effects), want)
	}
	if got := p.Songs[0].Palette; got != p.House {
		t.Errorf("a song without a palette has %v, want the house's", got)
	}
}

// Values of sRGB in linear light: c/12.92 up to 0.04045, above it
// ((c + 0.055)/1.055)^2.4 (IEC 61966-2-1). 0x80 is 0.215861 (computed by hand
// from the formula), 0x0a is 10/255/12.92.
func TestLinear(t *testing.T) {
	got, _ := fixtures.ParseColour("#80ff0A", fixtures.D65())
	for i, want := range []float64{0.21586050011389926, 1, 10.0 / 255 / 12.92} {
		if math.Abs(got[i]-want) > 1e-12 {
			t.Errorf("component %d is %v, want %v", i, got[i], want)
		}
	}
	last := -1.0
	for i := range 256 {
		l := fixtures.Decode(float64(i) / 255)
		if l <= last {
			t.Fatalf("%d is not brighter than %d", i, i-1)
		}
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
		if got := v(text).Span(); got != want {
			t.Errorf("%q is %+v, want %+v", text, got, want)
		}
	}
	for text, want := range map[string]float64{"40 %": 0.4, "100%": 1, "0.5 %": 0.005} {
		if got := v(text).Share(9); math.Abs(got-want) > 1e-15 {
			t.Errorf("%q is %v, want %v", text, got, want)
		}
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
  both: [lamps, bar.3]
  lamps: lamp 1-2
keep: front
blackout spares: [front, bar.4]
`}).Program
	var got []string
	for _, h := range p.Heads {
		got = append(got, h.Name)
	}
	if want := []string{"lamp 1", "lamp 2", "front", "bar.1", "bar.2", "bar.3", "bar.4"}; !slices.Equal(got, want) {
		t.Errorf("heads %v, want %v", got, want)
	}
	if at := p.Heads[0].At; at != (engine.Point{X: -1, Y: 0, Z: 4}) {
		t.Errorf("lamp 1 hangs at %v", at)
	}
	if at := p.Heads[5].At; at != (engine.Point{X: 2, Y: 1, Z: 0}) {
		t.Errorf("bar.3 hangs at %v", at)
	}
	if a := p.Patch.Placements()[1].Address; a != 11 {
		t.Errorf("lamp 2 starts at %d, want 11", a)
	}
	if !p.Heads[2].Keep || !p.Heads[6].Spared || p.Heads[5].Spared {
		t.Errorf("kept or spared wrongly: %+v", p.Heads)
	}
}

func TestNotesAndPrograms(t *testing.T) {
	p := with(t, map[string]string{
		"songs/song.yaml":  song("  - {at: chorus, look: \"off\"}\n"),
		"songs/third.yaml": "song: Third\nprogram: 10\ntempo: 60 bpm\nmeter: 6/8\nsections:\n  - a: {bars: 1, energy: 1, note: 36}\n  - a: {bars: 1, energy: 1}\n  - a: {bars: 1, energy: 1}\n",
		"songs/two.yaml":   "song: Two\ntempo: 60 bpm\nmeter: 3/4\nsections:\n  - a: {bars: 1, energy: 1}\n",
		"sets/night.yaml":  "set: Night\nsongs: [two, third, Song]\n",
		"show.yaml":        "show: Plain\ndaw: {channels: {arm at bar: none, control: any}, notes: {hold: none, tap: 1}}\non exit: terminate\nclock: [tap]\n",
	}).Program
	if want := []int32{2, 1, 0}; !slices.Equal(p.SetList, want) {
		t.Errorf("set list %v, want %v", p.SetList, want)
	}
	// Two is first, Song third; Third has a program of its own.
	for program, want := range map[uint8]int32{0: 2, 2: 0, 9: 1, 1: engine.None} {
		if got := p.Notes.ByProgram[program]; got != want {
			t.Errorf("program %d selects %d, want %d", program, got, want)
		}
	}
	if got := p.Songs[1].Sections; got[0].Note != 36 || got[1].Note != 37 || got[2].Note != 38 || got[2].Name != "a 3" {
		t.Errorf("notes of sections %+v", got)
	}
	if p.Songs[1].Tempo != clock.BPM(90) {
		t.Errorf("60 dotted quarters are %v, want 90 quarters", p.Songs[1].Tempo)
	}
	n := p.Notes
	if n.Fire != 1 || n.Arm != [4]uint8{2, 0, 4} || n.Control != 0 || n.Tap != 1 || n.Controls[96] != 0 || n.Controls[97] != engine.Release {
		t.Errorf("notes %+v", n)
	}
}

func TestSetsAreChosen(t *testing.T) {
	files := over(t, map[string]string{
		"sets/a.yaml": "set: First\nsongs: [song]\nwalk-in: \"on\"\n",
		"sets/b.yaml": "set: Second\nsongs: [Song]\n",
	})
	for ask, want := range map[string]string{"": "First", "b": "Second", "Second": "Second", "a": "First"} {
		show, problems := Load(files, Options{Set: ask})
		if problems.Err() != nil || show.Program.SetName != want || len(show.Sets) != 2 {
			t.Errorf("set %q gives %+v, %v; want %s", ask, show, problems, want)
		}
	}
	_, problems := Load(files, Options{Set: "secnod"})
	if got, want := problems.Error(), `sets: no set list "secnod" (did you mean "Second"?); set lists are: First, Second`; got != want {
		t.Errorf("%s\nwant %s", got, want)
	}
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
	if diff := cmp.Diff(want, b.String()); diff != "" {
		t.Errorf("outputs differ (-want +got):\n%s", diff)
	}
}

// Effects on pan and tilt swing about the look unless said; a strobe is not for
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
		if e := show.Program.Effects[2+i]; e.Name != want.Name || e.Param != want.Param || e.Blend != want.Blend {
			t.Errorf("%s moves %s by %s, want %s by %s", e.Name, e.Param, e.Blend, want.Param, want.Blend)
		}
	}
	for bad, says := range map[string]string{
		"  no: {on: front, wave: sine, moves: pan, period: 4 bars}\n":      "none of these fixtures has pan",
		"  no: {on: lamps, wave: sine, moves: uv, period: 4 bars}\n":       "none of these fixtures has uv",
		"  no: {on: lamps, wave: square, moves: strobe, period: 4 bars}\n": `"strobe"`,
	} {
		if _, problems := Load(over(t, looks(bad)), Options{}); problems.Err() == nil || !strings.Contains(fmt.Sprint(problems), says) {
			t.Errorf("%s%v, want %q", bad, problems, says)
		}
	}
}
