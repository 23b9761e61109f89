package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// folder is a show folder of the test's own.
type folder struct {
	t   *testing.T
	dir string
}

func newFolder(t *testing.T) folder {
	t.Helper()
	f := folder{t, filepath.Join(t.TempDir(), "hall")}
	require.NoError(t, os.CopyFS(f.dir, os.DirFS("../../testdata/shows/daw")))
	return f
}

func (f folder) read(name string) string {
	f.t.Helper()
	b, err := os.ReadFile(filepath.Join(f.dir, name))
	require.NoError(f.t, err)
	return string(b)
}

// write replaces a file as editors do: by a rename.
func (f folder) write(name, text string) {
	f.t.Helper()
	whole := filepath.Join(f.dir, name)
	require.NoError(f.t, os.WriteFile(whole+"~", []byte(text), 0o644))
	require.NoError(f.t, os.Rename(whole+"~", whole))
}

// edit replaces a part of a file, which must be there.
func (f folder) edit(name, old, to string) {
	f.t.Helper()
	text := f.read(name)
	require.Contains(f.t, text, old, name)
	f.write(name, strings.ReplaceAll(text, old, to))
}
