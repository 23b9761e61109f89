package explain_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tactus/clock"
	"tactus/engine"
	"tactus/engine/night"
	"tactus/shows/explain"
	"tactus/shows/find"
	"tactus/shows/showtest"
)

// Of every parameter the last layer's value is the one that is sent, the layer
// that decides is among the reasons once, and those after it change nothing.
func TestExplanationAddsUp(t *testing.T) {
	show := showtest.Demo(t)
	rapid.Check(t, func(t *rapid.T) {
		then := []engine.Command{}
		for _, k := range []engine.CommandKind{engine.Hold, engine.Blackout, engine.HouseHalf} {
			if rapid.Bool().Draw(t, "then") {
				then = append(then, engine.Command{Kind: k})
			}
		}
		v := night.View(show.Program, showtest.Place(t, show), then...)
		fixture := rapid.IntRange(0, len(show.Program.Patch.Placements())-1).Draw(t, "fixture")
		w := explain.Fixture(show, v, int32(fixture), 0)
		for _, h := range w.Heads {
			require.NotEmpty(t, h.Slots, w)
			require.NotEmpty(t, h.Params, w)
			for _, p := range h.Params {
				last := p.Layers[len(p.Layers)-1]
				decides := slices.IndexFunc(p.Layers, func(r explain.Reason) bool { return r.Decides })
				require.True(t, slices.Equal(last.Value, p.Value), "%s of %s: %+v", p.Name, h.Head, p)
				require.GreaterOrEqual(t, decides, 0, "%s of %s: %+v", p.Name, h.Head, p)
				require.True(t, slices.Equal(p.Layers[decides].Value, p.Value), "%s of %s: %+v", p.Name, h.Head, p)
				require.Equal(t, p.Decider, p.Layers[decides].Layer, "%s of %s: %+v", p.Name, h.Head, p)
				for _, r := range p.Layers {
					require.NotEmpty(t, r.Words, "%s of %s: %+v", p.Name, h.Head, r)
					require.False(t, slices.ContainsFunc(r.Value, math.IsNaN), "%s of %s: %+v", p.Name, h.Head, r)
				}
			}
		}
	})
}

// Every layer says why in words.
func TestWhyInWords(t *testing.T) {
	show := showtest.Demo(t)
	find := func(text, fixture string, then ...engine.Command) string {
		at, fault := find.Place(show, text)
		require.Nil(t, fault)
		f, head, fault := find.Fixture(show, fixture)
		require.Nil(t, fault)
		w := explain.Fixture(show, night.View(show.Program, at, then...), f, head)
		var lines []string
		for _, r := range w.Heads[0].Params[0].Layers {
			lines = append(lines, r.Layer+": "+r.Words)
		}
		return strings.Join(lines, "\n")
	}
	group := int32(slices.IndexFunc(show.Program.Groups, func(g engine.Group) bool { return g.Name == "fronts" }))
	for _, c := range []struct {
		place, fixture string
		then           []engine.Command
		want           []string
	}{
		{"lanterns, chorus 2, bar 3", "wash 3", nil, []string{
			`look: look "singalong" at chorus 2, bar 1 beat 1, songs/lanterns.yaml:20`, `effect: "sway": triangle over 2 bars, scale, depth 45.0 %, looks.yaml:`,
		}},
		{"lanterns, chorus 2, bar 3", "front 1", nil, []string{`kept group, in this song set by look "embers" at verse, bar 1 beat 1, songs/lanterns.yaml:16`}},
		{"lanterns", "front 1", nil, []string{`kept group, left as it was: not named by look "embers" at intro, bar 1 beat 1`}},
		{"lanterns, chorus 1 + 2 beats", "wash 3", nil, []string{`fade: 50.0 % of the way from the light before`}},
		{"lanterns, bridge - 1/2 beat", "wash 3", nil, []string{`not named by look "dark" at chorus 1, bar 8 beat 4`}},
		{"lanterns", "house lights", []engine.Command{{Kind: engine.Blackout}}, []string{`blackout: blackout, which spares it`}},
		{"lanterns, verse, bar 3", "front 1", []engine.Command{
			{Kind: engine.Override, Index: group, Level: 0.4},
			{Kind: engine.GroupMaster, Index: group, Level: 0.5},
			{Kind: engine.GrandMaster, Level: 0.25},
			{Kind: engine.Hold},
		}, []string{
			"hold: held", "override: group fronts overridden at 40.0 %\n", "master: master of group fronts at 50.0 %", "master: grand master at 25.0 %",
		}},
	} {
		got := find(c.place, c.fixture, c.then...)
		for _, want := range c.want {
			assert.Contains(t, got, want, "%s, %s", c.place, c.fixture)
		}
	}
}

// What comes in is named: the input, its slot, its level and how it is combined.
func TestWhyAnInput(t *testing.T) {
	show := *showtest.Demo(t)
	p := *show.Program
	group := slices.IndexFunc(p.Groups, func(g engine.Group) bool { return g.Name == "fronts" })
	p.LevelInputs = []engine.LevelInput{{Name: "house desk", Wire: "sACN 11"}}
	p.Faders = []engine.Fader{{Slot: 3, Name: "fronts", Heads: p.Groups[group].Heads, Takes: engine.TakesHighest}}
	show.Program = &p
	e := engine.New(&p)
	pos := clock.Position{At: clock.Second}
	e.Frame(pos)
	l := engine.InputLevels{Present: true, Changed: engine.AllSlots()}
	l.Levels[2] = 255
	require.True(t, e.TakeLevels(&l, pos))
	for _, c := range []struct {
		later clock.Time
		want  string
	}{{p.Ease / 2, "house desk, slot 3: 100.0 %, highest, 50.0 % of the way there"}, {p.Ease, "house desk, slot 3: 100.0 %, highest"}} {
		pos.At += c.later
		e.Frame(pos)
		f, _, fault := find.Fixture(&show, "front 1")
		require.Nil(t, fault)
		intensity := explain.Fixture(&show, e.View(pos), f, 0).Heads[0].Params[0]
		assert.Equal(t, "input", intensity.Decider)
		last := intensity.Layers[len(intensity.Layers)-1]
		assert.Equal(t, c.want, last.Words)
	}
}
