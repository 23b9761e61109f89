package shows_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"tactus/clock"
	"tactus/engine"
	"tactus/protocol/dmx"
)

// What looks say of strobe, ultraviolet, pan and tilt comes out of the slots,
// within what the rig allows; a head that no look points is in the middle of
// what it may use.
func TestMovesReachTheSlots(t *testing.T) {
	show := with(t, map[string]string{"rig.yaml": `venue: Hall
universes:
  u1: {virtual: yes}
profiles:
  flasher: {channels: [intensity, shutter open 255 strobe 10 to 250 at 1 Hz to 4 Hz, uv]}
  wide: {channels: [pan, pan fine, tilt, intensity]}
fixtures:
  lamp 1-2: {profile: dimmer-rgb, universe: u1, address: 1}
  front: {profile: dimmer, universe: u1, address: 9}
  flash 1-4: {profile: flasher, universe: u1, address: 21}
  free: {profile: wide, universe: u1, address: 41}
  held: {profile: wide, universe: u1, address: 45, pan: {from: 25 %, to: 75 %}, tilt: {to: 40 %, invert: yes}}
groups:
  lamps: lamp 1-2
  movers: [free, held]
`, "looks.yaml": `palette: {main: "#2f6fd0", second: "#1fa39a", accent: "#ffb040", warm: "#ffd9a8"}
looks:
  on:
    set:
      flash 1: {strobe: none, uv: 100 %}
      flash 2: {strobe: 4 Hz, uv: 20 %}
      flash 3: {strobe: 25 %}
  off:
    set: {movers: {pan: 0 %, tilt: 100 %}}
effects:
  wave: {on: lamps, wave: sine, moves: intensity, period: 2 bars}
`})
	e := engine.New(show.Program)
	tr := clock.NewTransport(clock.Config{Lead: clock.LeadInternal})
	slots := func(look int32) *[dmx.Slots]byte {
		e.Do(engine.Command{Kind: engine.ShowLook, Index: look}, tr.At(0))
		return &e.Frame(tr.At(clock.Second))[0].Slots
	}
	expect := func(s *[dmx.Slots]byte, address int, want ...byte) {
		t.Helper()
		for i, w := range want {
			assert.Equal(t, w, s[address-1+i], "slot %d", address+i)
		}
	}
	s := slots(0)
	expect(s, 21, 0, 255, 255, 0, 250, 51, 0, 10, 0, 0, 255, 0)
	expect(s, 41, 128, 0, 128, 0) // home: the middle of all
	expect(s, 45, 128, 0, 51, 0)  // home: the middle of 0 % to 40 % of the tilt
	s = slots(1)
	expect(s, 21, 0, 255, 0)
	expect(s, 41, 0, 0, 255, 0)
	expect(s, 45, 64, 0, 0, 0) // a quarter of 65535, and inverted
}
