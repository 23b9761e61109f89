package compose_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/shows/compose"
)

// edited returns a session in which the chorus of a song is stronger, and not saved.
func edited(t *testing.T) (dir string, s *compose.Session, text string) {
	folder, s := open(t)
	_, err := apply(t, s, energyOf("3", "8"))
	require.NoError(t, err)
	return folder.Dir, s, string(s.Sources()[lanterns])
}

// What another program did to a file that is to be written is told, and nothing is lost.
func TestSaveRefusesFilesThatChanged(t *testing.T) {
	for name, c := range map[string]struct {
		do   func(t *testing.T, file string)
		want string
		line string
	}{
		"changed": {func(t *testing.T, file string) {
			src, err := os.ReadFile(file)
			require.NoError(t, err)
			require.NoError(t, os.WriteFile(file, []byte(strings.Replace(string(src), "72 bpm", "74 bpm", 1)), 0o644))
		}, lanterns + " was changed on the disk", "+tempo: 74 bpm"},
		"removed": {func(t *testing.T, file string) { require.NoError(t, os.Remove(file)) }, lanterns + " is no longer on the disk", ""},
		"a folder now": {func(t *testing.T, file string) {
			require.NoError(t, os.Remove(file))
			require.NoError(t, os.Mkdir(file, 0o755))
		}, lanterns + " can no longer be read: not a plain file", ""},
		"a link out of the folder now": {func(t *testing.T, file string) {
			require.NoError(t, os.Rename(file, filepath.Join(t.TempDir(), "song.yaml")))
			require.NoError(t, os.Symlink("/etc/hostname", file))
		}, "a link out of the show folder", ""},
	} {
		t.Run(name, func(t *testing.T) {
			dir, s, text := edited(t)
			c.do(t, filepath.Join(dir, lanterns))
			state, err := s.Save(2)
			var conflict *compose.Conflict
			require.ErrorAs(t, err, &conflict)
			assert.ErrorContains(t, err, "nothing was saved: ")
			assert.ErrorContains(t, err, c.want)
			require.Len(t, conflict.Files, 1)
			if c.line != "" {
				assert.Contains(t, conflict.Files[0].Lines, c.line)
			}
			assert.Equal(t, []string{lanterns}, state.Unsaved)
			assert.Equal(t, text, string(s.Sources()[lanterns]), "the edit is lost")
		})
	}
}

// A change of another file counts if the show would no longer load with both.
func TestSaveLooksAtTheWholeShow(t *testing.T) {
	folder, s := open(t)
	folder.Edit("looks.yaml", "sparkle", "glitter")
	_, err := apply(t, s, energyOf("3", "8"))
	require.NoError(t, err)
	state, err := s.Save(2)
	require.NoError(t, err, "the files go together")
	assert.Empty(t, state.Unsaved)
	folder.Edit("songs/breakwater.yaml", "song: ", "song:  ")
	state, err = s.Reread()
	require.NoError(t, err)
	assert.Empty(t, state.Refused)
	assert.Contains(t, string(s.Sources()["looks.yaml"]), "glitter")
}

// A folder that is gone loses nothing.
func TestFolderIsGone(t *testing.T) {
	dir, s, text := edited(t)
	require.NoError(t, os.RemoveAll(dir))
	_, err := s.Save(2)
	require.Error(t, err)
	_, err = s.Reread()
	require.ErrorIs(t, err, compose.ErrGone)
	_, err = s.Discard(2)
	require.ErrorIs(t, err, compose.ErrGone)
	assert.Equal(t, text, string(s.Sources()[lanterns]))
	assert.Equal(t, []string{lanterns}, s.State().Unsaved)
}

func TestReadOnlyFileIsNotReplaced(t *testing.T) {
	dir, s, _ := edited(t)
	require.NoError(t, os.Chmod(filepath.Join(dir, lanterns), 0o444))
	state, err := s.Save(2)
	require.ErrorContains(t, err, "not saved, and kept as unsaved edits: "+lanterns+": the file is read-only (-r--r--r--); make it writable")
	assert.Equal(t, []string{lanterns}, state.Unsaved)
	require.NoError(t, os.Chmod(filepath.Join(dir, lanterns), 0o644))
	_, err = s.Save(2)
	require.NoError(t, err)
}

// If writing fails midway, what was written counts as saved and the rest does not.
func TestSaveFailsMidway(t *testing.T) {
	folder, _ := open(t)
	s, err := compose.Open(folder.Dir, compose.Options{Write: func(list []compose.Written) error {
		require.Len(t, list, 2)
		require.NoError(t, writeDirectly(list[:1]))
		return os.ErrPermission
	}})
	require.NoError(t, err)
	_, err = apply(t, s, "["+energyOf("3", "8")+`, {"do": "set energy", "song": "songs/breakwater.yaml", "section": 0, "energy": 3}]`)
	require.NoError(t, err)
	state, err := s.Save(2)
	require.ErrorIs(t, err, os.ErrPermission)
	assert.Equal(t, []string{lanterns}, state.Unsaved)
}
