package shows_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

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
		assert.Equal(t, want*clock.Millisecond, show.Outputs.Universes[i].Lead, "universe %d", i)
	}
	assert.True(t, show.Outputs.Free, "the frame grid is not free")
}
