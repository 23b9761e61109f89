package compose_test

import (
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/shows"
	"tactus/shows/compose"
	"tactus/shows/draft"
	"tactus/shows/showtest"
)

// bell is a song with sections, and light of a person in one of them.
const bell = `song: Ferry Bell   # for Ann
tempo: 112 bpm
meter: 4/4
sections:
  - intro: {bars: 4, energy: 2}
  - verse: {bars: 8, energy: 4, look: hearth}   # as she asked
  - chorus: {bars: 8, energy: 9}
  - outro: {bars: 4, energy: 2}
`

// openBell opens the demo with that song.
func openBell(t testing.TB, song string) *compose.Session {
	t.Helper()
	dir := t.TempDir()
	require.NoError(t, os.CopyFS(dir, shows.Demo()))
	folder := showtest.NewFolder(t, dir)
	folder.Write("songs/bell.yaml", song)
	s, err := compose.Open(folder.Dir, compose.Options{Write: writeDirectly})
	require.NoError(t, err)
	return s
}

// What is looked at is what is taken: the whole song, or some of its sections; the lines of
// people stay, and one undo takes it back.
func TestDraftIsLookedAtAndTaken(t *testing.T) {
	s := openBell(t, bell)
	before := s.View()
	looked, err := s.DraftOf(before, "songs/bell.yaml", nil)
	require.NoError(t, err)
	assert.Same(t, before, s.View(), "looking changes nothing")
	assert.Equal(t, bell, string(looked.Before))
	want, err := draft.New(inMemory(before.Sources), "songs/bell.yaml")
	require.NoError(t, err)
	assert.Equal(t, string(want.Source), string(looked.Source))

	state, err := apply(t, s, `{"do": "draft song", "song": "songs/bell.yaml"}`)
	require.NoError(t, err)
	assert.Equal(t, "draft of songs/bell.yaml", state.Undo)
	assert.Equal(t, string(looked.Source), string(s.Sources()["songs/bell.yaml"]))
	assert.NotContains(t, string(looked.Source), "at: verse, look")
	again, err := apply(t, s, `{"do": "draft song", "song": "songs/bell.yaml"}`)
	require.NoError(t, err)
	assert.Equal(t, state.Revision, again.Revision, "there is nothing to change")
	state, err = s.Undo(state.Revision)
	require.NoError(t, err)
	assert.Equal(t, bell, string(s.Sources()["songs/bell.yaml"]))

	some, err := s.DraftOf(s.View(), "songs/bell.yaml", []int{2})
	require.NoError(t, err)
	state, err = s.Apply(state.Revision, []compose.Edit{&compose.DraftSong{Song: "songs/bell.yaml", Sections: []int{2}}})
	require.NoError(t, err)
	assert.Equal(t, "draft of section 3 of songs/bell.yaml", state.Undo)
	assert.Equal(t, string(some.Source), string(s.Sources()["songs/bell.yaml"]))
	for _, line := range changedLines(before.Sources, s.Sources()) {
		assert.True(t, strings.Contains(line, "at: chorus") || strings.HasSuffix(line, "+") || strings.Contains(line, "+cues:"), line)
	}
	_, err = apply(t, s, `{"do": "clear draft", "song": "songs/bell.yaml", "sections": [0]}`)
	require.NoError(t, err)
	assert.Equal(t, string(some.Source), string(s.Sources()["songs/bell.yaml"]), "section 1 was not drafted")
	state, err = apply(t, s, `{"do": "clear draft", "song": "songs/bell.yaml", "sections": [2]}`)
	require.NoError(t, err)
	assert.Equal(t, "drafted lines taken out of section 3 of songs/bell.yaml", state.Undo)
	assert.Equal(t, bell, string(s.Sources()["songs/bell.yaml"]))
}

// What cannot be drafted says why, and nothing changes.
func TestDraftsAreRefusedWithTheReason(t *testing.T) {
	s := openBell(t, bell)
	for json, want := range map[string]string{
		`{"do": "draft song", "song": "songs/bel.yaml"}`:                     `no such file (did you mean "songs/bell.yaml"?)`,
		`{"do": "draft song", "song": "looks.yaml"}`:                         `no song file "looks.yaml"`,
		`{"do": "draft song", "song": "songs/bell.yaml", "sections": [4]}`:   `there is no section 5; the song has 4`,
		`{"do": "clear draft", "song": "songs/bell.yaml", "sections": [-1]}`: `there is no section 0`,
		`{"do": "clear draft", "song": "songs/bel.yaml"}`:                    `no such file`,
	} {
		_, err := apply(t, s, json)
		assert.ErrorContains(t, err, want, json)
		assert.EqualValues(t, 1, s.State().Revision, json)
	}
	_, err := s.DraftOf(s.View(), "songs/bell.yaml", []int{9})
	assert.ErrorContains(t, err, "there is no section 10")
	_, err = s.DraftOf(s.View(), "songs/none.yaml", nil)
	assert.ErrorContains(t, err, "no such file")

	flow := openBell(t, strings.Replace(bell, "sections:", "cues: [{at: intro, look: tide}]\nsections:", 1))
	_, err = apply(t, flow, `{"do": "draft song", "song": "songs/bell.yaml"}`)
	assert.ErrorContains(t, err, draft.ErrFlow.Error())
	faulty := openBell(t, strings.Replace(bell, "energy: 9", "energy: 11", 1))
	_, err = apply(t, faulty, `{"do": "draft song", "song": "songs/bell.yaml"}`)
	assert.ErrorContains(t, err, "energy")
}
