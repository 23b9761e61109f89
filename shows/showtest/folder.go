package showtest

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// Folder is a show folder of a test's own, with files to be edited.
type Folder struct {
	Dir string
	t   testing.TB
}

// NewFolder returns a copy of a show folder.
func NewFolder(t testing.TB, from string) Folder {
	t.Helper()
	f := Folder{filepath.Join(t.TempDir(), "hall"), t}
	require.NoError(t, os.CopyFS(f.Dir, os.DirFS(from)))
	return f
}

// Read returns the text of a file.
func (f Folder) Read(name string) string {
	f.t.Helper()
	b, err := os.ReadFile(filepath.Join(f.Dir, name))
	require.NoError(f.t, err)
	return string(b)
}

// Write replaces a file as editors do: by a rename.
func (f Folder) Write(name, text string) {
	f.t.Helper()
	whole := filepath.Join(f.Dir, name)
	require.NoError(f.t, os.WriteFile(whole+"~", []byte(text), 0o644))
	require.NoError(f.t, os.Rename(whole+"~", whole))
}

// Edit replaces a part of a file, which must be there.
func (f Folder) Edit(name, old, to string) {
	f.t.Helper()
	text := f.Read(name)
	require.Contains(f.t, text, old, name)
	f.Write(name, strings.ReplaceAll(text, old, to))
}
