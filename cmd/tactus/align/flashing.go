package align

import (
	"fmt"
	"slices"
	"strings"

	"tactus/clock"
	"tactus/engine"
	"tactus/fixtures"
	"tactus/shows"
)

// flashingShow returns a show that flashes fixtures on every beat, and nothing else,
// on their own universes only; and those universes.
func flashingShow(show *shows.Show, names []string, tempo float64) (*shows.Show, []int, error) {
	p := *show.Program
	places := p.Patch.Placements()
	var heads []int32
	var universes []int
	for _, name := range names {
		i := slices.IndexFunc(places, func(f fixtures.Placement) bool { return f.Name == name })
		if i < 0 {
			var known []string
			for _, f := range places {
				known = append(known, f.Name)
			}
			return nil, nil, fmt.Errorf("no fixture %q; there is: %s", name, strings.Join(known, ", "))
		}
		for h := range p.Heads {
			if int(p.Heads[h].Fixture) == i {
				heads = append(heads, int32(h))
			}
		}
		if !slices.Contains(universes, places[i].Universe) {
			universes = append(universes, places[i].Universe)
		}
	}
	on := fixtures.State{}
	on[fixtures.Intensity] = 1
	p.Effects = []engine.Effect{{
		Name: "flash", Heads: heads, Offsets: make([]clock.Phase, len(heads)), Pulses: 1, Depth: 1,
		Wave:   engine.Wave{Kind: engine.Square, High: 1, Duty: 0.2, Skew: 0.5},
		Period: engine.Length{Num: 1, Den: 1}, Param: fixtures.Intensity,
	}}
	p.Songs = []engine.Song{{
		Name: "align", Tempo: clock.BPM(tempo), Meter: engine.Meter{Upper: 4, Lower: 4}, Program: -1,
		Sections: []engine.Section{{Name: "flash", Length: 1 << 20 * clock.Quarter, Note: 255}},
		Cues: []engine.Cue{{Name: "flash", Effects: []int32{0}, Parts: []engine.Part{{
			Heads: heads, Params: 1 << fixtures.Intensity, Values: on,
			SetsColour: true, Colour: engine.Colour{Fixed: true, RGB: fixtures.RGB{1, 1, 1}},
		}}}},
	}}
	p.Looks, p.SetList, p.WalkIn, p.WalkOut = nil, []int32{0}, engine.None, engine.None
	p.RunsOn, p.EffectsStop, p.Notes = false, true, engine.Notes{}
	only := *show
	only.Program = &p
	only.Outputs.Exit = shows.Exit{Rule: shows.ExitHold}
	only.Outputs.Universes = slices.Clone(show.Outputs.Universes)
	for i := range only.Outputs.Universes {
		only.Outputs.Universes[i].Lead = 0 // it is the click that moves
		if !slices.Contains(universes, i) {
			only.Outputs.Universes[i].Protocol = shows.Virtual
		}
	}
	return &only, universes, nil
}
