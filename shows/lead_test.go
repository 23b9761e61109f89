package shows

import (
	"testing"

	"tactus/clock"
)

func TestLeads(t *testing.T) {
	show := with(t, map[string]string{"rig.yaml": `
venue: Hall
artnet: {sync: yes}
frame grid: free
universes:
  near: {sacn: 1, lead: 30 ms}
  far: {sacn: 2, lead: 200ms}
  plain: {sacn: 3}
  node: {art-net: 0, lead: 5 ms}
fixtures:
  lamp 1-2: {profile: dimmer-rgb, universe: near, address: 1}
  front: {profile: dimmer, universe: plain, address: 512}
groups: {lamps: lamp 1-2}
`})
	for i, want := range []clock.Time{30, 200, 0, 5} {
		if got := show.Outputs.Universes[i].Lead; got != want*clock.Millisecond {
			t.Errorf("universe %d: lead %v, want %d ms", i, got.Sub(0), want)
		}
	}
	if !show.Outputs.Free {
		t.Error("the frame grid is not free")
	}
}
