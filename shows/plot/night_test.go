package plot

import (
	"math"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tactus/clock"
	"tactus/engine"
	"tactus/fixtures"
	"tactus/shows"
)

// small is a night by hand: two songs, one of them with much to say of.
func small() *Night {
	light := make([]float64, 96)
	up, down := make([]float64, 96), make([]float64, 96)
	amber, blue := make([]fixtures.RGB, 96), make([]fixtures.RGB, 96)
	for c := range light {
		up[c], down[c] = float64(c)/95, 1-float64(c)/95
		light[c] = 10 * up[c]
		amber[c], blue[c] = fixtures.RGB{1, 0.35, 0.02}, fixtures.RGB{0.02, 0.1, up[c]}
	}
	bars := func(n int) (list []Bar) {
		for i := range n {
			list = append(list, Bar{clock.Time(i) * 2 * clock.Second, i%8 + 1})
		}
		return list
	}
	return &Night{Show: "Small Show", Venue: "Small Hall", Set: "Tuesday", Songs: []Song{
		{
			Name: "Long Shore", Tempo: "120.0 BPM, 4/4", Length: 32 * clock.Second, Bars: bars(16), Light: light, Rank: 0.5,
			Sections: []Section{
				{"verse 1", 0, 16 * clock.Second, 3, 6},
				{"breakdown before the last", 16 * clock.Second, 18 * clock.Second, 1, 2},
				{"chorus", 18 * clock.Second, 32 * clock.Second, 8, 7.5},
			},
			Rows: []Row{
				{"wash 1", "front truss", up, amber},
				{"wash 2", "front truss", down, blue},
				{"warmer", "back truss", up, blue},
				{"hall", "", down, amber},
			},
			Notes: []Note{
				{4 * clock.Second, Warning, false, "verse 1, bar 3", "brighter than chorus, energy 8"},
				{4500 * clock.Millisecond, Fault, true, "verse 1, bar 3", "3.5 general flashes a second, wash 1; at most 3"},
				{31 * clock.Second, Remark, false, "chorus, bar 7", "dark for 2 s"},
			},
		},
		{Name: "Übers Meer", Tempo: "60.0 BPM, 6/8", Length: 20 * clock.Second, Bars: bars(10), Rank: math.NaN(), Sections: []Section{{"intro", 0, 20 * clock.Second, 2, math.NaN()}}},
	}}
}

// stageOf is a show with lamps at places, the first two of them a group.
func stageOf(t rapid.TB, places []engine.Point) *shows.Show {
	profile, err := fixtures.NewProfile("lamp", "a lamp", []fixtures.Channel{{Use: fixtures.Level, Param: fixtures.Intensity}})
	require.NoError(t, err)
	p := &engine.Program{Name: "Small Show"}
	var list []fixtures.Placement
	for h, at := range places {
		list = append(list, fixtures.Placement{Name: "lamp", Profile: profile, Address: h + 1, Head: h})
		p.Heads = append(p.Heads, engine.Head{Name: "lamp " + itoa(h+1), Fixture: int32(h), At: at})
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
