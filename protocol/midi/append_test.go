package midi_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	gomidi "gitlab.com/gomidi/midi/v2"
	"pgregory.net/rapid"

	"tactus/protocol/midi"
)

// The octets of MIDI 1.0's channel voice messages, with their status each time.
func TestAppendTo(t *testing.T) {
	for _, c := range []struct {
		m    midi.Message
		want string
	}{
		{midi.NewNoteOn(1, 60, 64), "90 3C 40"},
		{midi.NewNoteOn(10, 76, 127), "99 4C 7F"},
		{midi.NewNoteOff(10, 76), "89 4C 40"},
		{midi.NewControlChange(16, 7, 100), "BF 07 64"},
		{midi.NewProgramChange(3, 5), "C2 05"},
		{midi.NewNoteOn(0, 200, 0), "90 7F 01"}, // held to the range
		{midi.NewControlChange(99, 255, 255), "BF 7F 7F"},
		{midi.Message{}, ""},
	} {
		assert.Equal(t, string(midi.Unhex(t, c.want)), string(c.m.AppendTo(nil)))
	}
}

// An independent library makes the same octets, and our own parser reads back
// what was appended.
func TestAppendAgrees(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		ch := rapid.Uint8Range(1, 16).Draw(t, "channel")
		a, b := rapid.Uint8Range(0, 127).Draw(t, "a"), rapid.Uint8Range(1, 127).Draw(t, "b")
		ours := []midi.Message{midi.NewNoteOn(ch, a, b), midi.NewNoteOff(ch, a), midi.NewControlChange(ch, a, b), midi.NewProgramChange(ch, a)}
		theirs := []gomidi.Message{
			gomidi.NoteOn(ch-1, a, b), gomidi.NoteOffVelocity(ch-1, a, 64), gomidi.ControlChange(ch-1, a, b), gomidi.ProgramChange(ch-1, a),
		}
		var s midi.Stream
		for i, m := range ours {
			octets := m.AppendTo(nil)
			require.Equal(t, string(theirs[i]), string(octets), "the library")
			for n, c := range octets {
				got, ok := s.Byte(c)
				require.Equal(t, n == len(octets)-1, ok, "read back; sent %+v", m)
				if ok {
					require.Equal(t, m, got, "read back; sent %+v", m)
				}
			}
		}
	})
}
