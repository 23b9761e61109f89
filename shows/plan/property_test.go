package plan_test

import (
	"context"
	"fmt"
	"math"
	"reflect"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tactus/clock"
	"tactus/protocol/dmx"
	"tactus/shows"
	"tactus/shows/plan"
)

// small is a show that rapid draws: three kinds of head, looks of any level, and
// songs of a few short sections with effects, fades and dark pickups.
type small struct {
	levels   [2]int // of the looks, per cent
	fixtures []string
	songs    []string
}

func drawSmall(t *rapid.T) *small {
	s := &small{fixtures: []string{
		"lamp 1-3: {profile: dimmer-rgb, universe: u1, address: 1, from: [-2 m, 1 m, 4 m], to: [2 m, 1 m, 4 m]}",
		"wash 1-2: {profile: rgba, universe: u1, address: 21, from: [-1 m, 4 m, 4 m], to: [1 m, 4 m, 4 m]}",
		"front 1-2: {profile: dimmer, universe: u1, address: 41, from: [-1 m, -4 m, 4 m], to: [1 m, -4 m, 4 m]}",
	}}
	for i := range s.levels {
		s.levels[i] = rapid.IntRange(0, 100).Draw(t, "level")
	}
	for i := range rapid.IntRange(1, 2).Draw(t, "songs") {
		var b strings.Builder
		fmt.Fprintf(&b, "song: Song %d\ntempo: %d bpm\nmeter: %s\nsections:\n", i+1,
			rapid.IntRange(150, 240).Draw(t, "tempo"), rapid.SampledFrom([]string{"4/4", "3/4", "6/8"}).Draw(t, "meter"))
		for k := range rapid.IntRange(1, 2).Draw(t, "sections") {
			effects := rapid.SampledFrom([]string{"", ", effects: wave", ", effects: [wave, turn]"}).Draw(t, "effects")
			fmt.Fprintf(&b, "  - part %c: {bars: %d, energy: %d, look: %s, fade: %s%s}\n", 'a'+k,
				rapid.IntRange(1, 2).Draw(t, "bars"), rapid.IntRange(0, 10).Draw(t, "energy"),
				rapid.SampledFrom([]string{"one", "two"}).Draw(t, "look"),
				rapid.SampledFrom([]string{"0 s", "1 beat", "1 bar"}).Draw(t, "fade"), effects)
		}
		s.songs = append(s.songs, b.String())
	}
	return s
}

func (s *small) files() fstest.MapFS {
	files, names := fstest.MapFS{}, []string{}
	put := func(name, src string) { files[name] = &fstest.MapFile{Data: []byte(src)} }
	put("show.yaml", "show: Small\n")
	put("rig.yaml", "venue: Hall\nuniverses:\n  u1: {virtual: yes}\nfixtures:\n  "+strings.Join(s.fixtures, "\n  ")+
		"\ngroups:\n  lamps: lamp 1-3\n  washes: wash 1-2\n  stage: [lamps, washes]\n  fronts: front 1-2\nkeep: fronts\n")
	put("looks.yaml", fmt.Sprintf(`palette: {main: "#2f6fd0", second: "#1fa39a", accent: "#ffb040", warm: "#ffd9a8"}
looks:
  one: {set: {lamps: {colour: main, intensity: %d %%}, washes: {colour: warm, intensity: %d %%}}}
  two: {set: {stage: {colour: second, intensity: %d %%}, fronts: {intensity: 60 %%}}}
effects:
  wave: {on: stage, wave: sine, moves: intensity, period: 2 bars, depth: 50 %%, path: left-right}
  turn: {on: washes, wave: triangle, moves: colour, from: main, to: accent, period: 1 bar}
`, s.levels[0], s.levels[0], s.levels[1]))
	for i, src := range s.songs {
		name := fmt.Sprintf("song-%d", i+1)
		names = append(names, name)
		put("songs/"+name+".yaml", src)
	}
	put("sets/set.yaml", "set: Set\nsongs: ["+strings.Join(names, ", ")+"]\n")
	return files
}

func (s *small) measured(t rapid.TB, o plan.Options) *plan.Night { return measured(t, s.loaded(t), o) }

func (s *small) loaded(t rapid.TB) *shows.Show {
	show, problems := shows.Load(s.files(), shows.Options{})
	require.Empty(t, problems)
	return show
}

func measured(t rapid.TB, show *shows.Show, o plan.Options) *plan.Night {
	n, err := plan.Measure(context.Background(), show, o)
	require.NoError(t, err)
	return n
}

func TestMeasuresAreInRange(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := drawSmall(t).measured(t, plan.Options{})
		in := func(what string, v, least, most float64) {
			require.GreaterOrEqual(t, v, least-1e-9, what) // nor NaN
			require.LessOrEqual(t, v, most+1e-9, what)
		}
		for i := range n.Songs {
			// Between two beats lie as many frames as fit; where one more would fit to a
			// hair, the grid may leave it out.
			plan := &n.Show.Program.Songs[n.Songs[i].Index]
			beat := float64(dmx.MaxRate * plan.Tempo.Span(plan.Meter.Beat()))
			beats := float64(n.Songs[i].Length / plan.Meter.Beat())
			in("frames", float64(n.Songs[i].Frames), beats*math.Floor(0.999*beat/float64(clock.Second)), beats*math.Floor(1.00001*beat/float64(clock.Second)))
			for k := range n.Songs[i].Sections {
				x := &n.Songs[i].Sections[k]
				in("L*", x.Brightness, x.Lowest, x.Peak)
				in("lowest", x.Lowest, 0, 100)
				in("peak", x.Peak, 0, 100)
				in("faces", x.Faces, x.FacesLow, 100)
				in("share", x.Share, 0, 1)
				in("away", x.Away, 0, 1)
				in("strength", x.Strength, 0, 10)
				in("motion", x.PerSecond, 0, 1e3)
				in("contrast", x.Contrast, 0, 1)
			}
			for _, c := range n.Songs[i].Columns {
				in("a column", c.Brightness, 0, 100)
			}
		}
	})
}

// What is measured depends on nothing but the show: a song that is asked for alone
// is played where the set has it.
func TestMeasuredAgainAndAlone(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		show := drawSmall(t).loaded(t) // once: loading takes longest, and measuring leaves it as it was
		set := measured(t, show, plan.Options{})
		require.Equal(t, measured(t, show, plan.Options{}).Songs, set.Songs, "measured twice, and not the same")
		for i := range set.Songs {
			alone := measured(t, show, plan.Options{Songs: []int32{set.Songs[i].Index}})
			require.Equal(t, set.Songs[i:i+1], alone.Songs, "%s alone is not as in the set", set.Songs[i].Name)
		}
	})
}

// A look that is turned up makes every section brighter that has it.
func TestBrightnessGrows(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := drawSmall(t)
		level := rapid.IntRange(5, 80).Draw(t, "both looks")
		s.levels = [2]int{level, level}
		before := s.measured(t, plan.Options{})
		s.levels = [2]int{level + 20, level + 20}
		after := s.measured(t, plan.Options{})
		for i := range before.Songs {
			for k := range before.Songs[i].Sections {
				a, b := &before.Songs[i].Sections[k], &after.Songs[i].Sections[k]
				require.Greater(t, b.Brightness, a.Brightness, "%s: L* %.2f (peak %.2f) at %d %%, and %.2f (%.2f) at %d %%", a.Name, a.Brightness, a.Peak, level, b.Brightness, b.Peak, level+20)
				require.Greater(t, b.Peak, a.Peak, "%s: L* %.2f (peak %.2f) at %d %%, and %.2f (%.2f) at %d %%", a.Name, a.Brightness, a.Peak, level, b.Brightness, b.Peak, level+20)
			}
		}
	})
}

// The order in which rig.yaml lists fixtures is nobody's business. Sums in another
// order round otherwise, so that measures agree to nine places.
func TestOrderOfFixtures(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := drawSmall(t)
		before := s.measured(t, plan.Options{})
		s.fixtures = rapid.Permutation(s.fixtures).Draw(t, "fixtures")
		after := s.measured(t, plan.Options{})
		for i := range before.Songs {
			for k := range before.Songs[i].Sections {
				a, b := before.Songs[i].Sections[k].Measures, after.Songs[i].Sections[k].Measures
				x, y := reflect.ValueOf(a), reflect.ValueOf(b)
				for f := range x.NumField() {
					require.InDelta(t, y.Field(f).Float(), x.Field(f).Float(), 1e-9, "%s, %s: %v", before.Songs[i].Sections[k].Name, x.Type().Field(f).Name, y.Field(f))
				}
			}
		}
	})
}
