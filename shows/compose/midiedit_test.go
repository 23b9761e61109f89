package compose_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/shows/compose"
	"tactus/shows/smf"
)

// A DAW's file moves the sections of a song; its light and comments stay, and undo leads
// back.
func TestTakeMIDI(t *testing.T) {
	_, s := open(t)
	before := s.Sources()
	_, err := apply(t, s, `[{"do": "set bars", "song": "songs/lanterns.yaml", "section": 1, "bars": 12}, {"do": "set energy", "song": "songs/lanterns.yaml", "section": 1, "energy": 9}]`)
	require.NoError(t, err)
	exported, _, err := smf.WriteSong(s.Show().Program, 1)
	require.NoError(t, err)
	_, err = s.Undo(s.State().Revision)
	require.NoError(t, err)

	song, err := smf.Read(exported, "lanterns")
	require.NoError(t, err)
	edit := &compose.TakeMIDI{Song: lanterns, MIDI: song, From: "lanterns.mid"}
	state, err := s.Apply(s.State().Revision, []compose.Edit{edit})
	require.NoError(t, err)
	assert.Equal(t, []string{"verse: 12 bars, was 8"}, edit.Merged.Report)
	assert.Equal(t, "songs/lanterns.yaml as in lanterns.mid", state.Undo)
	assert.Equal(t, comments(before), comments(s.Sources()))
	assert.EqualValues(t, 12, s.Show().Program.Songs[1].SectionBars(1))
	assert.EqualValues(t, 2, s.Show().Program.Songs[1].Sections[1].Energy, "the file's own, not 9")
	state, err = s.Undo(state.Revision)
	require.NoError(t, err)
	assert.Equal(t, before, s.Sources())

	_, err = s.Apply(state.Revision, []compose.Edit{&compose.TakeMIDI{Song: "songs/no.yaml", MIDI: song}})
	require.ErrorContains(t, err, "the show has no such file")
}
