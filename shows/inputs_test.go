package shows_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"tactus/engine"
	"tactus/shows"
)

func TestInputs(t *testing.T) {
	show := with(t, map[string]string{"rig.yaml": `
venue: Hall
universes:
  near: {sacn: 1}
  far: {virtual: yes}
profiles:
  pair: {channels: [head 2 intensity, unused, head 1 intensity, head 1 intensity fine]}
fixtures:
  lamp 1-2: {profile: dimmer-rgb, universe: near, address: 11}
  bare: {profile: rgb, universe: near, address: 101}
  two: {profile: pair, universe: far, address: 40}
  front: {profile: dimmer, universe: near, address: 512}
groups: {lamps: lamp 1-2}
inputs:
  house desk: {sacn: 11, faders: {lamps: 3, front: 512, bare: 3}, takes: last}
  side: {sacn: 12, patched as: near, when lost: hold}
  rail: {sacn: 13, patched as: far, groups: [two, two head 1], takes: scale}
`})
	assert.Equal(t, []shows.Input{{"house desk", 11}, {"side", 12}, {"rail", 13}}, show.Inputs)
	assert.Equal(t, "house desk (sACN 11)", show.Inputs[0].Label())
	assert.Equal(t, []engine.LevelInput{
		{Name: "house desk", Wire: "sACN 11"}, {Name: "side", Wire: "sACN 12", Hold: true}, {Name: "rail", Wire: "sACN 13"},
	}, show.Program.LevelInputs)
	assert.Equal(t, []engine.Fader{
		{Input: 0, Slot: 3, Name: "lamps", Heads: []int32{0, 1}, Takes: engine.TakesLast},
		{Input: 0, Slot: 512, Name: "front", Heads: []int32{5}, Takes: engine.TakesLast},
		{Input: 0, Slot: 3, Name: "bare", Heads: []int32{2}, Takes: engine.TakesLast},
		{Input: 1, Slot: 11, Name: "lamp 1", Heads: []int32{0}, Takes: engine.TakesHighest},
		{Input: 1, Slot: 15, Name: "lamp 2", Heads: []int32{1}, Takes: engine.TakesHighest},
		{Input: 1, Slot: 512, Name: "front", Heads: []int32{5}, Takes: engine.TakesHighest},
		{Input: 2, Slot: 42, Name: "two head 1", Heads: []int32{3}, Takes: engine.TakesScale},
		{Input: 2, Slot: 40, Name: "two head 2", Heads: []int32{4}, Takes: engine.TakesScale},
	}, show.Program.Faders)
}
