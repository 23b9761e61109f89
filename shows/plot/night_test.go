package plot_test

import (
	"math"
	"strconv"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tactus/clock"
	"tactus/engine"
	"tactus/engine/flash"
	"tactus/fixtures"
	"tactus/shows"
	"tactus/shows/plan"
)

// lit returns light of a hue with a lightness L* of 100 times level (CIE 15).
func lit(hue fixtures.RGB, level float64) fixtures.RGB {
	y := level * 100 / 903.3
	if level > 0.08 {
		y = math.Pow((level*100+16)/116, 3)
	}
	y /= flash.Luminance(hue)
	return fixtures.RGB{hue[0] * y, hue[1] * y, hue[2] * y}
}

// songOf returns a song with sections of so many bars, and the same as measured.
func songOf(name string, index int32, meter engine.Meter, bpm float64, sections []plan.Section, bars ...int) (engine.Song, plan.Song) {
	s := engine.Song{Name: name, Meter: meter, Tempo: meter.Quarters(clock.BPM(bpm))}
	for i := range sections {
		x := &sections[i]
		x.Index, x.Start, x.Length = int32(i), s.Length(), clock.Beat(bars[i])*meter.Bar()
		s.Sections = append(s.Sections, engine.Section{Name: x.Name, Start: x.Start, Length: x.Length})
		x.From, x.To = s.TimeAt(x.Start), s.TimeAt(x.Start+x.Length)
	}
	return s, plan.Song{Index: index, Name: name, Length: s.Length(), Time: s.TimeAt(s.Length()), Sections: sections}
}

// small is a night by hand: a song with much to say of, and one that was not
// measured.
func small() *plan.Night {
	four, six := engine.Meter{Upper: 4, Lower: 4}, engine.Meter{Upper: 6, Lower: 8}
	first, one := songOf("Long Shore", 0, four, 120, []plan.Section{
		{Name: "verse 1", Energy: 3, Measures: plan.Measures{Strength: 7.5}},
		{Name: "breakdown before the last", Energy: 1, Measures: plan.Measures{Strength: 2}},
		{Name: "chorus", Energy: 8, Measures: plan.Measures{Strength: 6}},
	}, 8, 1, 7)
	first.Cues = []engine.Cue{
		{Name: "harbour at dusk"},
		{Name: "harbour at dusk", At: 16 * clock.Quarter},
		{Name: "dark", At: 31 * clock.Quarter},
		{Name: "breath of the sea", At: 32 * clock.Quarter},
		{Name: "full sail", At: 36 * clock.Quarter},
		{Name: "bell", At: 48 * clock.Quarter, SendsOnly: true},
	}
	second, two := songOf("Übers Meer", 1, six, 60, []plan.Section{{Name: "intro", Energy: 2}}, 10)
	amber := fixtures.RGB{1, 0.35, 0.02}
	for c := range 256 {
		up := float64(c) / 255
		blue := fixtures.RGB{0.02, 0.1, up}
		one.Columns = append(one.Columns, plan.Column{
			Beat: clock.Beat(c) * clock.Quarter / plan.PerQuarter, Brightness: 100 * up,
			Lights: []fixtures.RGB{lit(amber, up), lit(blue, 1-up), lit(blue, up), lit(amber, 1-up), {}},
		})
	}
	one.Frames = 1408
	one.Findings = []plan.Finding{
		{Kind: plan.Flashing, Severity: plan.Error, Beat: 9 * clock.Quarter, Place: "verse 1, bar 3", Reason: "3.5 general flashes a second, wash 1; at most 3"},
		{Kind: plan.Inversion, Severity: plan.Warning, Beat: 8 * clock.Quarter, Place: "verse 1, bar 3", Reason: "brighter than chorus, energy 8"},
		{Kind: plan.Idle, Severity: plan.Hint, Reason: "flat is accepted, and was not found", Suggestion: "take the line away", Accepted: "never mind"},
		{Kind: plan.DarkGap, Severity: plan.Hint, Beat: 62 * clock.Quarter, Place: "chorus, bar 7", Reason: "dark for 2 s"},
	}
	show := &shows.Show{
		Program: &engine.Program{
			Name: "Small Show", SetName: "Tuesday", SetList: []int32{0, 1}, Songs: []engine.Song{first, second},
			Heads: []engine.Head{{Name: "wash 1"}, {Name: "wash 2"}, {Name: "warmer"}, {Name: "hall"}, {Name: "hazer"}},
		},
		Venue:  "Small Hall",
		Groups: []shows.Group{{Name: "front truss", Heads: []int32{0, 1}}, {Name: "back truss", Heads: []int32{2}}},
	}
	return &plan.Night{Show: show, Heads: append(fluxes(4), flash.Head{}), Songs: []plan.Song{one, two}}
}

// fluxes are heads of one flux.
func fluxes(n int) []flash.Head {
	heads := make([]flash.Head, n)
	for h := range heads {
		heads[h].Flux = 1
	}
	return heads
}

// stageOf is a show with lamps at places, the first two of them a group.
func stageOf(t rapid.TB, places []engine.Point) *shows.Show {
	profile, err := fixtures.NewProfile("lamp", "a lamp", []fixtures.Channel{{Use: fixtures.Level, Param: fixtures.Intensity}})
	require.NoError(t, err)
	p := &engine.Program{Name: "Small Show"}
	var list []fixtures.Placement
	for h, at := range places {
		list = append(list, fixtures.Placement{Name: "lamp", Profile: profile, Address: h + 1, Head: h})
		p.Heads = append(p.Heads, engine.Head{Name: "lamp " + strconv.Itoa(h+1), Fixture: int32(h), At: at})
	}
	p.Patch, err = fixtures.NewPatch(1, list)
	require.NoError(t, err)
	show := &shows.Show{Program: p, Venue: "Small Hall"}
	show.Outputs.Universes = []shows.Universe{{Name: "stage", Protocol: shows.SACN, Number: 7}}
	show.Groups = []shows.Group{{Name: "front truss", Heads: []int32{0, int32(min(1, len(places)-1))}}}
	return show
}

// smallStage has heads beside one another, over one another, far off, and one
// that has no place.
func smallStage(t rapid.TB) *shows.Show {
	return stageOf(t, []engine.Point{
		{X: -2, Y: 0.5, Z: 4},
		{X: 2, Y: 0.5, Z: 4},
		{X: -3, Y: 3, Z: 0.5},
		{X: -3, Y: 3, Z: 2.5},
		{X: 3, Y: 3, Z: 1},
		{X: 3.2, Y: 3.1, Z: 1},
		{X: 0, Y: -5, Z: 5},
		{},
	})
}
