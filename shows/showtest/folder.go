package showtest

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// Folder is a temporary show folder that a test may edit.
type Folder struct {
	Dir string
	t   testing.TB
}

// NewFolder copies a show folder into a temporary directory.
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

// Write replaces a file by renaming a new one over it, as editors do.
func (f Folder) Write(name, text string) {
	f.t.Helper()
	whole := filepath.Join(f.Dir, name)
	require.NoError(f.t, os.WriteFile(whole+"~", []byte(text), 0o644))
	require.NoError(f.t, os.Rename(whole+"~", whole))
}

// Edit replaces text in a file, and fails the test if the file lacks the old text.
func (f Folder) Edit(name, old, to string) {
	f.t.Helper()
	text := f.Read(name)
	require.Contains(f.t, text, old, name)
	f.Write(name, strings.ReplaceAll(text, old, to))
}
