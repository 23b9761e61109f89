package shows

import (
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"tactus/engine"
	"tactus/engine/night"
)

// Of every parameter the last layer's value is the one that is sent, the layer
// that decides is among the reasons once, and those after it change nothing.
func TestWhyAddsUp(t *testing.T) {
	show := demoShow(t)
	rapid.Check(t, func(t *rapid.T) {
		then := []engine.Command{}
		for _, k := range []engine.CommandKind{engine.Hold, engine.Blackout, engine.HouseHalf} {
			if rapid.Bool().Draw(t, "then") {
				then = append(then, engine.Command{Kind: k})
			}
		}
		v := night.View(show.Program, anyPlace(t, show), then...)
		fixture := rapid.IntRange(0, len(show.Program.Patch.Placements())-1).Draw(t, "fixture")
		w := Explain(show, v, int32(fixture), 0)
		for _, h := range w.Heads {
			if len(h.Slots) == 0 || len(h.Params) == 0 {
				t.Fatalf("%+v", w)
			}
			for _, p := range h.Params {
				last := p.Layers[len(p.Layers)-1]
				decides := slices.IndexFunc(p.Layers, func(r Reason) bool { return r.Decides })
				if !slices.Equal(last.Value, p.Value) || decides < 0 || !slices.Equal(p.Layers[decides].Value, p.Value) || p.Layers[decides].Layer != p.Decider {
					t.Fatalf("%s of %s: %+v", p.Name, h.Head, p)
				}
				for _, r := range p.Layers {
					if r.Because == "" || slices.ContainsFunc(r.Value, math.IsNaN) {
						t.Fatalf("%s of %s: %+v", p.Name, h.Head, r)
					}
				}
			}
		}
	})
}

// Every layer says why in words.
func TestWhyInWords(t *testing.T) {
	show := demoShow(t)
	find := func(text, fixture string, then ...engine.Command) string {
		at, fault := FindPlace(show, text)
		if fault != nil {
			t.Fatal(fault)
		}
		f, head, fault := FindFixture(show, fixture)
		if fault != nil {
			t.Fatal(fault)
		}
		w := Explain(show, night.View(show.Program, at, then...), f, head)
		var lines []string
		for _, r := range w.Heads[0].Params[0].Layers {
			lines = append(lines, r.Layer+": "+r.Because)
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
			"hold: held", "override: group fronts held by hand at 40.0 %\n", "master: master of group fronts at 50.0 %", "master: grand master at 25.0 %",
		}},
	} {
		got := find(c.place, c.fixture, c.then...)
		for _, want := range c.want {
			if !strings.Contains(got, want) {
				t.Errorf("%s, %s:\n%s\nwant %s", c.place, c.fixture, got, want)
			}
		}
	}
}

func TestFindFixture(t *testing.T) {
	show := demoShow(t)
	if f, head, fault := FindFixture(show, "wash 3"); f != 2 || head != 0 || fault != nil {
		t.Errorf("wash 3 is %d, head %d (%v)", f, head, fault)
	}
	for name, want := range map[string]string{
		"wahs 3": `position: no fixture "wahs 3" (did you mean "wash 3"?); fixtures are: `,
		"fronts": `position: "fronts" is a group (did you mean "front 1"?); fixtures are: `,
	} {
		if _, _, fault := FindFixture(show, name); fault == nil || !strings.HasPrefix(fault.Error(), want) {
			t.Errorf("%q: %v", name, fault)
		}
	}
}
