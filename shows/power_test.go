package shows

import (
	"path/filepath"
	"slices"
	"testing"
	"testing/fstest"
)

func TestPowerOfARig(t *testing.T) {
	files := fstest.MapFS{}
	for name, f := range folder(t, filepath.Join(shelf, "good", "plain")) {
		files[name] = f
	}
	files["rig.yaml"] = &fstest.MapFile{Data: []byte(`venue: Hall
universes:
  u1: {virtual: yes}
mains: {voltage: 230 V}
circuits:
  left: {breaker: 16 A}
  right: {breaker: 10.5 A}
profiles:
  par: {watts: 60.5 W, channels: [red, green, blue]}
fixtures:
  lamp 1-2: {profile: par, universe: u1, address: 4, circuit: right}
  lamp 3: {profile: par, universe: u1, address: 11, watts: 575 W, circuit: left}
  front: {profile: dimmer, universe: u1, address: 15}
groups:
  lamps: lamp 1-3
  all: [lamps, front]
keep: front
`)}
	show, problems := Load(files, Options{})
	if len(problems) > 0 {
		t.Fatal(problems)
	}
	p := show.Power
	if p.Volts != 230 || !slices.Equal(p.Circuits, []Circuit{{"left", 16}, {"right", 10.5}}) {
		t.Errorf("%+v", p)
	}
	if want := []Draw{{60.5, 1}, {60.5, 1}, {575, 0}, {0, -1}}; !slices.Equal(p.Draws, want) {
		t.Errorf("draws %v, want %v", p.Draws, want)
	}
	if g := show.GroupsOf(0); !slices.Equal(g, []string{"lamps", "all"}) {
		t.Errorf("lamp 1 is in %q", g)
	}
	if g := show.GroupsOf(3); !slices.Equal(g, []string{"all"}) {
		t.Errorf("front is in %q", g)
	}
	if gaps := Gaps(show.Program.Patch); !slices.Equal(gaps, []Free{{0, 1, 3}, {0, 10, 10}, {0, 14, 14}}) {
		t.Errorf("gaps %v", gaps)
	}
}
