package compose_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Where an edit makes the DAW's notes mean other sections than on the disk, the session says
// so until it is undone or saved.
func TestNotesThatMoveAreTold(t *testing.T) {
	s := openBell(t, bell)
	words := func() (list []string) {
		for _, m := range s.State().Notes {
			list = append(list, m.Words("Ferry Bell"))
		}
		return list
	}
	do := func(json string) {
		_, err := apply(t, s, json)
		require.NoError(t, err, json)
	}
	do(`{"do": "set energy", "song": "songs/bell.yaml", "section": 1, "energy": 5}`)
	assert.Empty(t, words())
	do(`{"do": "add section", "song": "songs/bell.yaml", "section": 4, "name": "tag", "bars": 2, "energy": 1}`)
	assert.Empty(t, words(), "a section at the end moves no other note")
	do(`{"do": "add section", "song": "songs/bell.yaml", "section": 1, "name": "verse", "bars": 4, "energy": 3}`)
	require.Len(t, words(), 1)
	assert.Equal(t, "The DAW's notes of 3 sections of Ferry Bell change: verse 2 from 37 to 38, chorus from 38 to 39, outro from 39 to 40.", words()[0])
	_, err := s.Undo(s.State().Revision)
	require.NoError(t, err)
	assert.Empty(t, words())
	do(`{"do": "remove section", "song": "songs/bell.yaml", "section": 0}`)
	assert.Equal(t, []string{"The DAW's notes of 3 sections of Ferry Bell change: verse from 37 to 36, chorus from 38 to 37, outro from 39 to 38."}, words())
	do(`{"do": "set section", "song": "songs/bell.yaml", "section": 0, "key": "note", "to": 37}`)
	assert.Equal(t, []string{"The DAW's notes of 2 sections of Ferry Bell change: chorus from 38 to 36, outro from 39 to 38."}, words())
	_, err = s.Save(s.State().Revision)
	require.NoError(t, err)
	assert.Empty(t, words(), "saved")
	do(`{"do": "move section", "song": "songs/bell.yaml", "section": 2, "to": 0}`)
	assert.NotEmpty(t, words())
}
