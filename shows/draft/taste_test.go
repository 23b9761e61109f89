package draft_test

import (
	"context"
	"fmt"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat"
	"pgregory.net/rapid"

	"tactus/shows"
	"tactus/shows/draft"
	"tactus/shows/plan"
)

// rig is a rig that songs are drafted for, with looks that suit it.
type rig struct {
	name     string
	fixtures string // of the stage, in rig.yaml
	groups   string
	coloured bool
}

// rigs are four kinds of hall.
func rigs() []rig {
	row := func(name string, n int, profile string, address int, y string) string {
		slots := map[string]int{"dimmer-rgb": 4, "dimmer": 1}[profile]
		return fmt.Sprintf("  %s 1-%d: {profile: %s, universe: stage, address: %d, every: %d, from: [-4 m, %s, 4 m], to: [4 m, %s, 4 m]}\n", name, n, profile, address, slots, y, y)
	}
	return []rig{
		{
			"washes only", row("front wash", 4, "dimmer-rgb", 101, "0.5 m") + row("back wash", 4, "dimmer-rgb", 141, "3 m"),
			"  front row: front wash 1-4\n  back row: back wash 1-4\n  stage: [front row, back row]\n", true,
		},
		{
			"dimmers only", row("front lamp", 6, "dimmer", 101, "0.5 m") + row("back lamp", 6, "dimmer", 141, "3 m"),
			"  front row: front lamp 1-6\n  back row: back lamp 1-6\n  stage: [front row, back row]\n", false,
		},
		{
			"one truss", row("front wash", 6, "dimmer-rgb", 101, "2 m"),
			"  front row: front wash 1-3\n  back row: front wash 4-6\n  stage: [front row, back row]\n", true,
		},
		{
			"200 heads", row("front wash", 96, "dimmer-rgb", 101, "0.5 m") + strings.ReplaceAll(row("back wash", 96, "dimmer-rgb", 101, "3 m"), "universe: stage", "universe: more"),
			"  front row: front wash 1-96\n  back row: back wash 1-96\n  stage: [front row, back row]\n", true,
		},
	}
}

// files is a show folder for the rig with songs by file name.
func (r *rig) files(songs map[string]string) fstest.MapFS {
	colour := func(role string) string {
		if r.coloured {
			return "colour: " + role + ", "
		}
		return ""
	}
	look := func(name string, front, back int, roles [2]string, effects string) string {
		return fmt.Sprintf("  %s: {set: {front row: {%sintensity: %d %%}, back row: {%sintensity: %d %%}}, effects: %s}\n", name, colour(roles[0]), front, colour(roles[1]), back, effects)
	}
	effects := `
  slow breathe: {on: stage, wave: sine, moves: intensity, period: 4 bars, depth: 30 %}
  sway: {on: stage, wave: triangle, moves: intensity, period: 2 bars, path: left-right, spread: 1/2 cycle, depth: 40 %}
  turn: {on: back row, wave: half-sine, moves: intensity, period: 1 bar, path: alternate, depth: 40 %}
  gather: {on: stage, wave: half-sine, moves: intensity, period: 2 bars, path: ends-in, depth: 25 %}
  heave: {on: stage, wave: sine, moves: intensity, period: 4 bars, path: left-right, spread: 1/2 cycle, depth: 40 %}
  pulse: {on: back row, wave: decay, moves: intensity, period: 1 bar, path: centre-out, spread: 1/4 cycle, depth: 30 %}
  scatter: {on: stage, wave: sine, moves: intensity, period: 2 bars, path: scatter, depth: 35 %}
`
	swing, tint := "slow breathe", "gather"
	if r.coloured {
		swing, tint = "swing", "tint"
		effects += `  swing: {on: stage, wave: sine, moves: colour, from: main, to: second, period: 4 bars, path: front-back, depth: 60 %}
  tint: {on: back row, wave: triangle, moves: colour, from: main, to: accent, period: 2 bars, path: around, depth: 40 %}
`
	}
	looks := "palette: {main: \"#3f7fe0\", second: \"#20a0a0\", accent: \"#ffb040\", warm: \"#ffd9a8\"}\nlooks:\n" +
		"  walk-in: {fade: 5 s, set: {fronts: {intensity: 35 %}, house lights: {intensity: 60 %}, stage: {" + colour("warm") + "intensity: 30 %}}}\n" +
		look("dark", 0, 2, [2]string{"second", "second"}, "none") +
		look("embers", 12, 16, [2]string{"warm", "main"}, "slow breathe") +
		look("tide", 28, 34, [2]string{"main", "second"}, swing) +
		look("rising", 45, 50, [2]string{"main", "second"}, "sway") +
		look("singing", 62, 72, [2]string{"warm", "main"}, "[sway, "+tint+"]") +
		look("full", 90, 100, [2]string{"warm", "main"}, "[gather, turn]") +
		"effects:" + effects + `ladder:
  rungs:
    - {energy: 0, look: embers, effects: none}
    - {energy: 1, look: embers}
    - {energy: 3, look: tide}
    - {energy: 4, look: tide, effects: [` + swing + `, gather]}
    - {energy: 5, look: rising}
    - {energy: 7, look: singing}
    - {energy: 9, look: full}
  begin: {fronts: {intensity: 50 %}, house lights: {intensity: 10 %}}
  instrumental: {fronts: {intensity: 30 %}}
  breath: dark
  spoken: {look: embers, effects: none, set: {fronts: {intensity: 70 %}}}
  end: {look: dark, set: {fronts: {intensity: 20 %}}}
`
	files := fstest.MapFS{
		"show.yaml": {Data: []byte("show: Yard\n")},
		"rig.yaml": {Data: []byte("venue: Yard\nuniverses: {stage: {virtual: yes}, more: {virtual: yes}}\nfixtures:\n  front 1-2: {profile: dimmer, universe: stage, address: 1, from: [-2 m, -3 m, 5 m], to: [2 m, -3 m, 5 m]}\n" +
			"  house 1: {profile: dimmer, universe: stage, address: 3, at: [0 m, -8 m, 6 m]}\n" + r.fixtures + "groups:\n  fronts: front 1-2\n  house lights: house 1\n" + r.groups + "keep: [fronts, house lights]\nhouse lights: house lights\n")},
		"looks.yaml": {Data: []byte(looks)},
	}
	list := []string{}
	for _, name := range sortedKeys(songs) {
		files["songs/"+name+".yaml"] = &fstest.MapFile{Data: []byte(songs[name])}
		list = append(list, name)
	}
	files["sets/night.yaml"] = &fstest.MapFile{Data: []byte("set: Night\nsongs: [" + strings.Join(list, ", ") + "]\nwalk-in: walk-in\n")}
	return files
}

// characterNames are the built-in characters that have tendencies.
func characterNames() []string {
	return []string{"calm", "driving", "spare", "triumphant", "playful", "stormy"}
}

// aForm draws a song with a form that bands play; character "": none is named.
func aForm(t *rapid.T, name, character string) string {
	forms := [][]string{
		{"intro", "verse", "chorus", "verse", "chorus", "bridge", "chorus", "outro"},
		{"verse", "refrain", "verse", "refrain", "verse", "refrain"},
		{"intro", "verse", "pre-chorus", "chorus", "verse", "pre-chorus", "chorus", "solo", "bridge", "chorus", "chorus"},
		{"intro", "tune a", "tune b", "tune a", "tune b", "tag"},
		{"verse", "verse", "bridge", "verse"},
		{"intro", "verse", "chorus", "breakdown", "build", "chorus", "outro"},
	}
	form := rapid.SampledFrom(forms).Draw(t, "form")
	var b strings.Builder
	fmt.Fprintf(&b, "song: %s\ntempo: %d bpm\nmeter: %s\n", name, rapid.IntRange(56, 168).Draw(t, "tempo"), rapid.SampledFrom([]string{"4/4", "4/4", "3/4", "6/8"}).Draw(t, "meter"))
	fmt.Fprintf(&b, "palette: {main: %q, second: %q, accent: %q}\n", aColour(t), aColour(t), aColour(t))
	if character != "" {
		fmt.Fprintf(&b, "character: %s\n", character)
	}
	base := rapid.IntRange(0, 4).Draw(t, "base")
	lift := map[string]int{"intro": 1, "verse": 1, "pre-chorus": 3, "chorus": 5, "refrain": 3, "bridge": 2, "solo": 3, "tune a": 3, "tune b": 4, "tag": 3, "outro": 0, "breakdown": 0, "build": 3}
	b.WriteString("sections:\n")
	seen := map[string]int{}
	for _, s := range form {
		energy := min(10, base+lift[s]+min(1, seen[s])*rapid.IntRange(0, 1).Draw(t, "more"))
		seen[s]++
		fmt.Fprintf(&b, "  - %s: {bars: %d, energy: %d}\n", s, rapid.SampledFrom([]int{4, 8, 8, 16}).Draw(t, "bars"), energy)
	}
	return b.String()
}

// aColour draws a colour as palettes have them: not nearly black.
func aColour(t *rapid.T) string {
	return rapid.SampledFrom([]string{"#2a4fa8", "#3f7fe0", "#1fa39a", "#c03028", "#e07020", "#6a4fb0", "#ff9a3c", "#40a040", "#d04080", "#80b0ff"}).Draw(t, "colour")
}

// draftAll drafts every song of a show and returns the show as measured.
func draftAll(t require.TestingT, files fstest.MapFS) *plan.Night {
	for _, file := range sortedKeys(files) {
		if strings.HasPrefix(file, "songs/") {
			d, err := draft.New(files, file)
			require.NoError(t, err, string(files[file].Data))
			files[file] = &fstest.MapFile{Data: d.Source}
		}
	}
	show, problems := shows.Load(files, shows.Options{})
	require.Empty(t, problems)
	night, err := plan.Measure(context.Background(), show, plan.Options{})
	require.NoError(t, err)
	return night
}

// agreement is the rank correlation of energies and strengths, as a share of the highest
// that sections of equal energies allow.
func agreement(sections []plan.Section) float64 {
	var energies, strengths []float64
	for i := range sections {
		energies, strengths = append(energies, float64(sections[i].Energy)), append(strengths, sections[i].Strength)
	}
	got := stat.Correlation(ranks(energies), ranks(strengths), nil)
	slices.Sort(energies)
	slices.Sort(strengths)
	if best := stat.Correlation(ranks(energies), ranks(strengths), nil); best > 0 {
		return got / best
	}
	return 1 // one energy
}

func strengths(s *plan.Song) (list []string) {
	for i := range s.Sections {
		x := &s.Sections[i]
		list = append(list, fmt.Sprintf("%s %d: %.1f L* %.0f", x.Name, x.Energy, x.Strength, x.Brightness))
	}
	return list
}

// samples is how many songs are drafted for each rig: TACTUS_DRAFTS, or a few.
func samples(t *testing.T, few int) int {
	t.Helper()
	text := os.Getenv("TACTUS_DRAFTS")
	if text == "" {
		return few
	}
	n, err := strconv.Atoi(text)
	require.NoError(t, err)
	return n
}

// someSong draws a song of a built-in character, or none.
func someSong() *rapid.Generator[string] {
	return rapid.Custom(func(t *rapid.T) string {
		return aForm(t, "New", rapid.SampledFrom(append(characterNames(), "")).Draw(t, "character"))
	})
}

// Any song that is drafted is right as it is, on four rigs: light follows its energies,
// the peak is the brightest or about so, there is at most one dark breath, and check
// finds nothing. The songs are always the same ones.
func TestDraftsNeedNoHand(t *testing.T) {
	for _, r := range rigs() {
		for i := range samples(t, 5) {
			source := someSong().Example(i)
			night := draftAll(t, r.files(map[string]string{"new": source}))
			song := &night.Songs[0]
			for _, f := range plan.Open(append(song.Findings, night.Findings...), plan.Hint) {
				assert.Fail(t, string(f.Kind), "%s, song %d, %s: %s\n%s", r.name, i, f.Place, f.Reason, source)
			}
			assert.GreaterOrEqual(t, agreement(song.Sections), 0.9, "%s, song %d: %v\n%s", r.name, i, strengths(song), source)
			assert.LessOrEqual(t, night.Traits(song).Breaths, 1., "%s, song %d\n%s", r.name, i, source)
		}
	}
}

// Songs of the same form in two characters differ in at least a third of their traits,
// and two songs of one character in fewer.
func TestCharactersDiffer(t *testing.T) {
	for _, r := range rigs()[:2] {
		traits := map[string][]plan.Traits{}
		for _, character := range characterNames() {
			for _, bpm := range []int{92, 108} {
				song := fmt.Sprintf("song: New\ntempo: %d bpm\nmeter: 4/4\ncharacter: %s\npalette: {main: \"#3f7fe0\", second: \"#1fa39a\", accent: \"#ff9a3c\"}\nsections:\n", bpm, character)
				for _, s := range []string{"intro: {bars: 8, energy: 2", "verse: {bars: 16, energy: 4", "chorus: {bars: 8, energy: 7", "verse: {bars: 8, energy: 4", "chorus: {bars: 8, energy: 7", "bridge: {bars: 8, energy: 5", "chorus: {bars: 16, energy: 9", "outro: {bars: 8, energy: 2"} {
					song += "  - " + s + "}\n"
				}
				night := draftAll(t, r.files(map[string]string{"new": song}))
				traits[character] = append(traits[character], night.Traits(&night.Songs[0]))
			}
		}
		least, all := 100, 0 // of the traits that the rig has at all: dimmers have no colour
		for _, trait := range plan.AllTraits() {
			first := traits["calm"][0]
			if slices.ContainsFunc(characterNames(), func(c string) bool { return trait.Value(&traits[c][0]) != trait.Value(&first) }) {
				all++
			}
		}
		for i, a := range characterNames() {
			own := len(plan.Differing(traits[a][0], traits[a][1], differs))
			for _, b := range characterNames()[i+1:] {
				n := plan.Differing(traits[a][0], traits[b][0], differs)
				least = min(least, len(n))
				var names []string
				for _, x := range n {
					names = append(names, x.Name)
				}
				t.Logf("%s: %s and %s differ in %d of %d: %s", r.name, a, b, len(n), all, strings.Join(names, ", "))
			}
			t.Logf("%s: two songs of %s differ in %d: %+v", r.name, a, own, traits[a][0])
			assert.Less(t, 3*own, all, "%s: %s", r.name, a)
		}
		assert.GreaterOrEqual(t, 3*least, all, r.name)
	}
}

// differs is the share of a trait's scale from which on two songs differ in it.
const differs = 0.1

// Six songs of other kinds that are drafted for one night: energies mean the same in all
// of them, and check finds nothing but neighbours that are much alike.
func TestDraftedNightsNeedNoHand(t *testing.T) {
	for _, r := range rigs() {
		for i := range samples(t, 1) {
			songs := rapid.Custom(func(t *rapid.T) map[string]string {
				songs := map[string]string{}
				for i, c := range rapid.Permutation(characterNames()).Draw(t, "characters") {
					name := fmt.Sprintf("song %c", 'a'+i)
					songs[name] = aForm(t, strings.ToUpper(name), c)
				}
				return songs
			}).Example(i)
			night := draftAll(t, r.files(songs))
			var sections []plan.Section
			list := night.Findings
			for i := range night.Songs {
				sections = append(sections, night.Songs[i].Sections...)
				list = append(list, night.Songs[i].Findings...)
			}
			for _, f := range plan.Open(list, plan.Hint) {
				if f.Kind == plan.SameSongs {
					continue // the order of the songs is not the draft's
				}
				assert.Fail(t, string(f.Kind), "%s, night %d: %s, %s: %s", r.name, i, f.Song, f.Place, f.Reason)
			}
			assert.GreaterOrEqual(t, agreement(sections), 0.85, "%s, night %d", r.name, i)
		}
	}
}
