package showfiles

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// folder is a show folder of the test's own.
type folder struct {
	t   *testing.T
	dir string
}

func newFolder(t *testing.T) folder {
	t.Helper()
	f := folder{t, filepath.Join(t.TempDir(), "hall")}
	if err := os.CopyFS(f.dir, os.DirFS("../../../testdata/shows/daw")); err != nil {
		t.Fatal(err)
	}
	return f
}

func (f folder) read(name string) string {
	f.t.Helper()
	b, err := os.ReadFile(filepath.Join(f.dir, name))
	if err != nil {
		f.t.Fatal(err)
	}
	return string(b)
}

// write replaces a file as editors do: by a rename.
func (f folder) write(name, text string) {
	f.t.Helper()
	whole := filepath.Join(f.dir, name)
	if err := os.WriteFile(whole+"~", []byte(text), 0o644); err != nil {
		f.t.Fatal(err)
	}
	if err := os.Rename(whole+"~", whole); err != nil {
		f.t.Fatal(err)
	}
}

// edit replaces a part of a file, which must be there.
func (f folder) edit(name, old, to string) {
	f.t.Helper()
	text := f.read(name)
	if !strings.Contains(text, old) {
		f.t.Fatalf("%s has no %q", name, old)
	}
	f.write(name, strings.ReplaceAll(text, old, to))
}
