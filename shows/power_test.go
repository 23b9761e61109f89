package shows_test

import (
	"path/filepath"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/shows"
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
	show, problems := shows.Load(files, shows.Options{})
	require.Empty(t, problems)
	p := show.Power
	assert.Equal(t, 230.0, p.Volts)
	assert.Equal(t, []shows.Circuit{{"left", 16}, {"right", 10.5}}, p.Circuits)
	assert.Equal(t, []shows.Draw{{60.5, 1}, {60.5, 1}, {575, 0}, {0, -1}}, p.Draws, "draws")
	assert.Equal(t, []string{"lamps", "all"}, show.GroupsOf(0), "lamp 1")
	assert.Equal(t, []string{"all"}, show.GroupsOf(3), "front")
	assert.Equal(t, []shows.SlotRun{{0, 1, 3}, {0, 10, 10}, {0, 14, 14}}, shows.FreeSlots(show.Program.Patch), "gaps")
}
