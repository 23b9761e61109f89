package wholefile_test

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/cmd/tactus/wholefile"
)

func TestWriteTogether(t *testing.T) {
	dir := t.TempDir()
	at := func(name string) string { return filepath.Join(dir, name) }
	require.NoError(t, os.WriteFile(at("old"), []byte("old"), 0o640))
	require.NoError(t, os.WriteFile(at("spare"), []byte("spare"), 0o640))
	require.NoError(t, wholefile.WriteTogether([]wholefile.File{
		{Name: at("old"), Source: []byte("changed")},
		{Name: at("songs/new"), Source: []byte("new")},
		{Name: at("spare"), Remove: true},
		{Name: at("missing"), Remove: true},
	}))
	for name, want := range map[string]string{"old": "changed", "songs/new": "new", "spare": ""} {
		got, _ := os.ReadFile(at(name))
		assert.Equal(t, want, string(got), name)
	}
}

// If one file cannot be written, none is, and nothing is left behind.
func TestWriteTogetherIsAllOrNothing(t *testing.T) {
	dir := t.TempDir()
	at := func(name string) string { return filepath.Join(dir, name) }
	require.NoError(t, os.WriteFile(at("one"), []byte("old"), 0o644))
	require.NoError(t, os.Mkdir(at("two"), 0o755))
	err := wholefile.WriteTogether([]wholefile.File{
		{Name: at("one"), Source: []byte("new")}, {Name: at("one"), Remove: true}, {Name: at("two"), Source: []byte("new")},
	})
	require.ErrorContains(t, err, "is a folder")
	got, _ := os.ReadFile(at("one"))
	assert.Equal(t, "old", string(got))
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	assert.Len(t, entries, 2)
}
