package engine_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/clock"
	"tactus/engine"
)

// A map as a show might have it: sections on channel 1, armed for the bar on
// 2, for the section's end on 3, controls and programs on 16.
func TestNotes(t *testing.T) {
	n := engine.NewNotes()
	n.Fire, n.Control, n.Tap = 1, 16, 40
	n.Arm[engine.NextBar], n.Arm[engine.SectionEnd] = 2, 3
	n.Controls[36], n.Controls[37] = engine.Hold, engine.Release
	n.ByProgram[5] = 2
	cases := []struct {
		name          string
		channel, note uint8
		want          engine.Command
		ok            bool
	}{
		{"fire", 1, 60, engine.Command{Kind: engine.FireNote, Index: 60}, true},
		{"fire, lowest and highest", 1, 0, engine.Command{Kind: engine.FireNote}, true},
		{"", 1, 127, engine.Command{Kind: engine.FireNote, Index: 127}, true},
		{"arm for the bar", 2, 60, engine.Command{Kind: engine.ArmNote, When: engine.NextBar, Index: 60}, true},
		{"arm for the end", 3, 60, engine.Command{Kind: engine.ArmNote, When: engine.SectionEnd, Index: 60}, true},
		{"control", 16, 36, engine.Command{Kind: engine.Hold}, true},
		{"control's note elsewhere enters a section", 1, 36, engine.Command{Kind: engine.FireNote, Index: 36}, true},
		{"no such control", 16, 38, engine.Command{}, false},
		{"a channel that means nothing", 4, 60, engine.Command{}, false},
		{"no MIDI note", 1, 128, engine.Command{}, false},
		{"no MIDI note", 16, engine.NoNote, engine.Command{}, false},
	}
	for _, c := range cases {
		got, ok := n.NoteOn(c.channel, c.note)
		assert.Equal(t, c.want, got, "%s: channel %d note %d", c.name, c.channel, c.note)
		assert.Equal(t, c.ok, ok, "%s: channel %d note %d", c.name, c.channel, c.note)
	}
	assert.True(t, n.IsTap(16, 40), "the tap is note 40 on channel 16")
	assert.False(t, n.IsTap(1, 40), "the tap is note 40 on channel 16")
	assert.False(t, n.IsTap(16, 41), "the tap is note 40 on channel 16")
	c, ok := n.ProgramChange(16, 5)
	assert.True(t, ok, "program 5")
	assert.Equal(t, engine.Command{Kind: engine.SelectByProgram, Index: 2}, c, "program 5")
	for _, p := range [][2]uint8{{16, 6}, {1, 5}, {16, 128}, {16, 255}} {
		c, ok := n.ProgramChange(p[0], p[1])
		assert.False(t, ok, "channel %d program %d: %+v", p[0], p[1], c)
	}
	n.Faders[20], n.Faders[21] = engine.AllFader, 0
	for _, c := range []struct {
		channel, controller, value uint8
		want                       engine.Command
		ok                         bool
	}{
		{16, 20, 127, engine.Command{Kind: engine.GrandMaster, Level: 1, Over: 50 * clock.Millisecond}, true},
		{16, 20, 0, engine.Command{Kind: engine.GrandMaster, Over: 50 * clock.Millisecond}, true},
		{16, 21, 64, engine.Command{Kind: engine.GroupMaster, Level: 64.0 / 127, Over: 50 * clock.Millisecond}, true},
		{1, 21, 64, engine.Command{}, false},
		{16, 22, 64, engine.Command{}, false},
		{16, 128, 64, engine.Command{}, false},
		{16, 21, 128, engine.Command{}, false},
	} {
		got, ok := n.ControlChange(c.channel, c.controller, c.value)
		assert.Equal(t, c.want, got, "controller %d to %d on %d", c.controller, c.value, c.channel)
		assert.Equal(t, c.ok, ok, "controller %d to %d on %d", c.controller, c.value, c.channel)
	}
	n.Control = 0 // any channel
	_, ok = n.NoteOn(7, 36)
	assert.True(t, ok, "controls on any channel")
	assert.True(t, n.IsTap(3, 40), "controls on any channel")
	_, ok = n.ProgramChange(9, 5)
	assert.True(t, ok, "programs on any channel")
}

func TestNewNotesMeanNothing(t *testing.T) {
	n := engine.NewNotes()
	for channel := uint8(1); channel <= 16; channel++ {
		for note := range uint8(255) {
			c, ok := n.NoteOn(channel, note)
			require.False(t, ok, "channel %d note %d: %+v", channel, note, c)
			require.False(t, n.IsTap(channel, note), "channel %d note %d: %+v", channel, note, c)
			c, ok = n.ProgramChange(channel, note)
			require.False(t, ok, "channel %d program %d: %+v", channel, note, c)
			c, ok = n.ControlChange(channel, note, 64)
			require.False(t, ok, "channel %d controller %d: %+v", channel, note, c)
		}
	}
}
