package plan_test

import (
	"context"
	"encoding/json"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tactus/shows"
	"tactus/shows/limits"
	"tactus/shows/plan"
	"tactus/shows/showtest"
)

// traitsOf returns the traits of the first song of a show, with a rig of two rows of
// heads in front of one another.
func traitsOf(t rapid.TB, looks, song string) plan.Traits {
	files := fstest.MapFS{}
	put := func(name, src string) { files[name] = &fstest.MapFile{Data: []byte(src)} }
	put("show.yaml", "show: Rows\n")
	put("rig.yaml", `venue: Hall
universes:
  u1: {virtual: yes}
fixtures:
  near 1-4: {profile: dimmer-rgb, universe: u1, address: 1, from: [-3 m, 0 m, 4 m], to: [3 m, 0 m, 4 m]}
  far 1-4: {profile: dimmer-rgb, universe: u1, address: 17, from: [-3 m, 4 m, 4 m], to: [3 m, 4 m, 4 m]}
groups:
  nears: near 1-4
  fars: far 1-4
  all: [nears, fars]
`)
	put("looks.yaml", "palette: {main: \"#ff0000\", second: \"#0000ff\", accent: \"#00ff00\", warm: \"#ffd9a8\"}\n"+looks)
	put("songs/song.yaml", "song: Song\ntempo: 120 bpm\nmeter: 4/4\n"+song)
	show, problems := shows.Load(files, shows.Options{})
	require.Empty(t, problems)
	n := measured(t, show, plan.Options{})
	return n.Traits(&n.Songs[0])
}

const traitLooks = `looks:
  red: {fade: snap, set: {all: {colour: main, intensity: 50 %}}}
  blue: {fade: snap, set: {all: {colour: second, intensity: 50 %}}}
  full: {fade: snap, set: {all: {colour: "#ffffff", intensity: 100 %}}}
  warm: {fade: snap, set: {all: {colour: warm, intensity: 100 %}}}
  slow: {fade: 2 bars, set: {all: {colour: warm, intensity: 100 %}}}
  near: {fade: snap, set: {nears: {colour: "#ffffff", intensity: 100 %}}}
  left: {fade: snap, set: {near 1-2: {colour: warm, intensity: 100 %}, far 1-2: {colour: warm, intensity: 100 %}}}
  off: {fade: snap, set: {all: {intensity: 0 %}}}
effects:
  pump: {on: all, wave: sine, moves: intensity, period: 1 bar, depth: 60 %}
  turn: {on: all, wave: sine, moves: colour, from: main, to: second, period: 1 bar}
  chase: {on: all, wave: sine, moves: intensity, period: 1 bar, path: left-right, depth: 100 %}
  open: {on: all, wave: sine, moves: intensity, period: 1 bar, path: centre-out, depth: 100 %}
`

// Each trait tells apart two songs that differ in what it is about.
func TestEachTraitTellsApartWhatItIsAbout(t *testing.T) {
	of := func(sections string) plan.Traits { return traitsOf(t, traitLooks, "sections:\n"+sections) }
	verse := func(rest string) string { return "  - verse: {bars: 8, energy: 5, " + rest + "}\n" }
	plain, red, full := of(verse("look: full")), of(verse("look: red")), of(verse("look: full")+"  - tag: {bars: 8, energy: 5, look: off}\n")

	assert.Zero(t, plain.Motion)
	assert.Greater(t, of(verse("look: red, effects: pump")).Motion, 0.02)
	assert.Less(t, of(verse("look: red, effects: pump")).ColourMotion, 0.05)
	assert.Greater(t, of(verse("look: red, effects: turn")).ColourMotion, 0.5)

	assert.InDelta(t, 1, plain.Symmetry, 0)
	assert.InDelta(t, 0, of(verse("look: left")).Symmetry, 0.01)
	assert.Less(t, of(verse("look: full, effects: chase")).Symmetry, 0.8)
	assert.InDelta(t, 1, of(verse("look: full, effects: open")).Symmetry, 0.01)

	assert.Zero(t, plain.FrontBack)
	assert.InDelta(t, 100, of(verse("look: near")).FrontBack, 0.1)
	assert.InDelta(t, 0.5, of(verse("look: near")).Lit, 0.01)
	assert.InDelta(t, 1, plain.Lit, 0)

	assert.Zero(t, plain.Warmth)
	assert.InDelta(t, 0.0807, of(verse("look: warm")).Warmth, 0.001, "#ffd9a8 has L 0.906 and b 0.0731 by Ottosson's published matrices")
	assert.Zero(t, red.Warmth, "red is no white")
	assert.InDelta(t, 29, red.Hue, 2, "Oklab's hue of #ff0000 is 29.2 degrees (Ottosson 2020)")
	assert.InDelta(t, 264, of(verse("look: blue")).Hue, 2, "and of #0000ff 264.1 degrees")
	assert.Greater(t, red.Chroma, plain.Chroma+0.1)

	assert.InDelta(t, 100, plain.Brightness, 0.1)
	assert.InDelta(t, 50, full.Brightness, 1, "half of the song is dark")
	assert.InDelta(t, 100, full.Range, 0.1)
	assert.Zero(t, plain.Range)

	assert.InDelta(t, 1, of(verse("look: red")+verse("look: full")).Abruptness, 0.01)
	assert.InDelta(t, 1, of(verse("look: red, effects: pump")+verse("look: full, effects: pump")).Abruptness, 0.15, "whatever else moves")
	assert.InDelta(t, 0.125, of(verse("look: red")+verse("look: slow")).Abruptness, 0.08, "a beat of eight; light rises faster at first")
	assert.Zero(t, of(verse("look: red")+verse("look: red")).Abruptness)

	breath := "cues:\n  - {at: \"verse 2 - 1 beat\", look: off}\n  - {at: \"verse 3 - 1 beat\", look: off}\n"
	assert.InDelta(t, 2, of(verse("look: full")+verse("look: full")+verse("look: full")+breath).Breaths, 0)
	assert.Zero(t, full.Breaths, "it does not come back")

	assert.Zero(t, plain.Effects)
	assert.InDelta(t, 1, of(verse("look: full, effects: [pump, turn]")+verse("look: full, effects: none")).Effects, 0.01)
}

// Tungsten counts as a warm white beside a white of 5600 K, and so on faces.
func TestTungstenIsWhite(t *testing.T) {
	warmth := func(colour string) float64 {
		return traitsOf(t, strings.Replace(traitLooks, "colour: main, intensity: 50 %", "colour: "+colour+", intensity: 50 %", 1), "sections:\n  - verse: {bars: 4, energy: 5, look: red}\n").Warmth
	}
	assert.Greater(t, warmth("2700 K"), warmth("3200 K"))
	assert.Greater(t, warmth("3200 K"), warmth("4000 K"))
	assert.Greater(t, warmth("4000 K"), 0.05)
	assert.Less(t, warmth("8000 K"), -0.04)
	var defaults *limits.Set
	assert.Greater(t, defaults.Value(limits.FacesChroma), warmth("2700 K"))
}

// How a song ends: held, faded over its last bar, or snapped to dark.
func TestTraitsOfEnds(t *testing.T) {
	ends := func(rest string) (all []float64) {
		x := traitsOf(t, traitLooks, "sections:\n  - verse: {bars: 8, energy: 5, look: full}\n"+rest)
		return []float64{x.LastBar, x.LastBeat, x.After}
	}
	assert.Equal(t, []float64{1, 1, 1}, ends(""), "held")
	assert.Equal(t, []float64{1, 1, 0}, ends("after the end: off\n"), "snapped")
	faded := ends("cues:\n  - {at: verse end - 1 bar, look: off, fade: 1 bar}\n")
	assert.Greater(t, faded[0], 0.4)
	assert.Less(t, faded[0], 0.9)
	assert.Less(t, faded[1], 0.5)
	assert.Zero(t, faded[2])
	assert.Equal(t, []float64{0, 0, 0}, ends("cues:\n  - {at: verse end - 1 bar, look: off}\n"), "dark before the end")
}

// Distance is 0 for the same song, the same both ways, and within 0..1; and traits
// that differ are those that have a distance. Mirrored left and right a song has the
// same traits.
func TestTraitsOfAnySong(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := drawSmall(t)
		n := s.measured(t, plan.Options{})
		a := n.Traits(&n.Songs[0])
		b := n.Traits(&n.Songs[len(n.Songs)-1])
		require.Zero(t, plan.Distance(a, a))
		require.Empty(t, plan.Differing(a, a, 0))
		d := plan.Distance(a, b)
		require.Equal(t, d, plan.Distance(b, a))
		require.GreaterOrEqual(t, d, 0.0)
		require.LessOrEqual(t, d, 1.0)
		require.Equal(t, d > 0, len(plan.Differing(a, b, 0)) > 0 && d > 0)
		for _, x := range []float64{a.ColourMotion, a.Symmetry, a.Abruptness, a.LastBar, a.LastBeat, a.After, a.Lit} {
			require.GreaterOrEqual(t, x, 0.0)
			require.LessOrEqual(t, x, 1.0)
		}
		require.GreaterOrEqual(t, a.Hue, 0.0)
		require.Less(t, a.Hue, 360.0)
		for i, f := range s.fixtures {
			f = strings.ReplaceAll(f, "from:", "other:")
			s.fixtures[i] = strings.ReplaceAll(strings.ReplaceAll(f, "to:", "from:"), "other:", "to:")
		}
		mirrored := s.measured(t, plan.Options{})
		m := mirrored.Traits(&mirrored.Songs[0])
		for _, trait := range plan.AllTraits() {
			if trait.Name != "symmetry" { // an effect from left to right begins elsewhere
				require.InDelta(t, trait.Value(&a), trait.Value(&m), 0.1*trait.Scale, trait.Name)
			}
		}
	})
}

// The songs of the demo do not have the same character.
func TestDemoSongsDiffer(t *testing.T) {
	n, err := plan.Measure(context.Background(), showtest.Demo(t), plan.Options{})
	require.NoError(t, err)
	all := plan.AllTraits()
	for i := range n.Songs {
		a := n.Traits(&n.Songs[i])
		words, err := json.Marshal(a)
		require.NoError(t, err)
		t.Logf("%s: %s", n.Songs[i].Name, words)
		for k := range n.Songs[:i] {
			b := n.Traits(&n.Songs[k])
			var names []string
			for _, x := range plan.Differing(a, b, 0.3) {
				names = append(names, x.Name)
			}
			assert.Greater(t, plan.Distance(a, b), 0.1, "%s, %s", n.Songs[i].Name, n.Songs[k].Name)
			t.Logf("  from %s: %.3f, in %s", n.Songs[k].Name, plan.Distance(a, b), strings.Join(names, ", "))
		}
	}
	for _, x := range all {
		assert.NotEmpty(t, x.Reason, x.Name)
		assert.Greater(t, x.Scale, 0.0, x.Name)
	}
	assert.Len(t, slices.CompactFunc(slices.Clone(all), func(a, b plan.Trait) bool { return a.Name == b.Name }), len(all))
}
