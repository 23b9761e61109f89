package compose_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/shows/compose"
)

// Unsaved edits are made again on what another program wrote; one of the same line is
// left out and told. Undo leads back to what was before.
func TestRereadMakesUnsavedEditsAgain(t *testing.T) {
	folder, s := open(t)
	for _, json := range []string{energyOf("1", "4"), energyOf("3", "8"), energyOf("4", "2")} {
		_, err := apply(t, s, json)
		require.NoError(t, err)
	}
	mine := string(s.Sources()[lanterns])
	// Another section before all, and another length of the bridge.
	folder.Edit(lanterns, "  - intro:", "  - vamp: {bars: 2, energy: 1}\n  - intro:")
	folder.Edit(lanterns, "bridge: {bars: 4", "bridge: {bars: 6")
	theirs := folder.Read(lanterns)
	state, err := s.Reread()
	require.NoError(t, err)
	want := strings.NewReplacer("verse: {bars: 8, energy: 2", "verse: {bars: 8, energy: 4", "chorus: {bars: 8, energy: 6", "chorus: {bars: 8, energy: 8").Replace(theirs)
	assert.Equal(t, want, string(s.Sources()[lanterns]))
	require.Len(t, state.Refused, 1)
	assert.Equal(t, "energy 2 for section 5 of "+lanterns, state.Refused[0].Words)
	assert.Regexp(t, `^songs/lanterns.yaml:\d+: the same lines were changed on the disk$`, state.Refused[0].Why)
	assert.Equal(t, []string{lanterns}, state.Unsaved)
	assert.Equal(t, "energy 8 for section 4 of "+lanterns, state.Undo)

	for range 2 {
		state, err = s.Undo(state.Revision)
		require.NoError(t, err)
	}
	assert.Empty(t, state.Unsaved, "what the disk has")
	assert.Equal(t, "taking in what changed on the disk", state.Undo)
	state, err = s.Undo(state.Revision)
	require.NoError(t, err)
	assert.Equal(t, mine, string(s.Sources()[lanterns]), "the edit that was left out is lost")

	again, err := s.Reread()
	require.NoError(t, err)
	assert.Equal(t, state.Revision, again.Revision, "the disk has nothing new")
}

// What is undone after a save is a change like others.
func TestRereadAfterUndoOfWhatWasSaved(t *testing.T) {
	folder, s := open(t)
	_, err := apply(t, s, energyOf("3", "8"))
	require.NoError(t, err)
	state, err := s.Save(2)
	require.NoError(t, err)
	_, err = s.Undo(state.Revision)
	require.NoError(t, err)
	folder.Edit(lanterns, "72 bpm", "74 bpm")
	state, err = s.Reread()
	require.NoError(t, err)
	assert.Empty(t, state.Refused)
	assert.Equal(t, strings.Replace(folder.Read(lanterns), "energy: 8", "energy: 6", 1), string(s.Sources()[lanterns]))
	assert.Equal(t, "undo of energy 8 for section 4 of "+lanterns, state.Undo)
}

// An edit that no longer goes with the other files is left out.
func TestRereadJudgesEachEdit(t *testing.T) {
	folder, s := open(t)
	_, err := apply(t, s, energyOf("3", "8"))
	require.NoError(t, err)
	folder.Write(lanterns, "song: [\n")
	state, err := s.Reread()
	require.NoError(t, err)
	require.Len(t, state.Refused, 1)
	assert.NotEmpty(t, state.Faults)
	assert.Nil(t, s.Show())
	state, err = s.Undo(state.Revision)
	require.NoError(t, err)
	assert.Empty(t, state.Faults)
	assert.EqualValues(t, 8, s.Show().Program.Songs[1].Sections[3].Energy)
}

func TestDiscard(t *testing.T) {
	folder, s := open(t)
	_, err := apply(t, s, energyOf("3", "8"))
	require.NoError(t, err)
	mine := string(s.Sources()[lanterns])
	state, err := s.Discard(2)
	require.NoError(t, err)
	assert.Empty(t, state.Unsaved)
	assert.Equal(t, folder.Read(lanterns), string(s.Sources()[lanterns]))
	state, err = s.Undo(state.Revision)
	require.NoError(t, err)
	assert.Equal(t, mine, string(s.Sources()[lanterns]))
	assert.Equal(t, []string{lanterns}, state.Unsaved)
	// What is unsaved now is one change: the discarding undone.
	folder.Edit(lanterns, "72 bpm", "74 bpm")
	state, err = s.Reread()
	require.NoError(t, err)
	assert.Empty(t, state.Refused)
	assert.Equal(t, strings.Replace(folder.Read(lanterns), "energy: 6", "energy: 8", 1), string(s.Sources()[lanterns]))
}

// A history that is full forgets its oldest changes, and still knows what is unsaved.
func TestHistoryIsBounded(t *testing.T) {
	folder, _ := open(t)
	s, err := compose.Open(folder.Dir, compose.Options{Write: writeDirectly, HistoryBytes: 700})
	require.NoError(t, err)
	for _, energy := range []string{"1", "2", "3", "4", "5", "7"} {
		_, err := apply(t, s, energyOf("3", energy))
		require.NoError(t, err)
	}
	folder.Edit(lanterns, "72 bpm", "74 bpm")
	state, err := s.Reread()
	require.NoError(t, err)
	assert.Empty(t, state.Refused)
	assert.Equal(t, strings.Replace(folder.Read(lanterns), "chorus: {bars: 8, energy: 6", "chorus: {bars: 8, energy: 7", 1), string(s.Sources()[lanterns]))
	undone := 0
	for state.Undo != "" {
		state, err = s.Undo(state.Revision)
		require.NoError(t, err)
		undone++
	}
	assert.Less(t, undone, 7)
	assert.Positive(t, undone)
}
