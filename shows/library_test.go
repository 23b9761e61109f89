package shows_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"tactus/fixtures"
	"tactus/protocol/dmx"
)

// strobes are the built-in profiles with a strobe: the slot of the shutter, and
// what holds it open.
var strobes = []struct {
	profile string
	slot    int
	open    byte
}{
	{"dimmer-rgbw-strobe", 1, 255},
	{"dimmer-rgb-strobe", 4, 0},
}

// A shutter is open unless a look asks for a strobe, and then shows the rate that
// was asked for: 16 to 250 are 1 Hz to 20 Hz evenly, as the profile says, so that
// each hertz takes (250 - 16)/19 steps, rounded towards slow.
func TestBuiltInStrobes(t *testing.T) {
	for _, s := range strobes {
		show := with(t, map[string]string{
			"rig.yaml": "venue: Hall\nuniverses: {u1: {virtual: yes}}\nfixtures:\n" +
				"  lamp 1-3: {profile: " + s.profile + ", universe: u1, address: 1}\n  front: {profile: dimmer, universe: u1, address: 100}\n" +
				"groups: {lamps: lamp 1-3}\nkeep: front\n",
		})
		patch := show.Program.Patch
		dst, src := make([]dmx.Universe, 1), make([]fixtures.State, patch.Heads())
		for _, c := range []struct {
			hz   float64
			want byte
		}{
			{0, s.open},
			{0.4, s.open}, // nearer to none than to the slowest there is
			{0.5, 16},
			{1, 16},
			{2, 28},   // 16 + 12.3
			{3.9, 51}, // 16 + 35.7
			{4, 52},   // 16 + 36.9
			{20, 52},  // 4 Hz is the most that can be asked for
			{0, s.open},
		} {
			src[1] = fixtures.State{fixtures.Intensity: 1, fixtures.Strobe: c.hz / fixtures.MaxStrobe}
			patch.Encode(dst, src)
			base := patch.Placements()[1].Address - 1
			assert.Equal(t, c.want, dst[0].Slots[base+s.slot], "%s at %v Hz", s.profile, c.hz)
			assert.Equal(t, s.open, dst[0].Slots[patch.Placements()[0].Address-1+s.slot], "%s beside one at %v Hz", s.profile, c.hz)
		}
	}
}
