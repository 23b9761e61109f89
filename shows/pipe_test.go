//go:build unix

package shows

import (
	"os"
	"path/filepath"
	"syscall"
	"testing"
)

// Nothing waits for a pipe in the place of a file.
func TestPipe(t *testing.T) {
	dir := t.TempDir()
	if err := os.CopyFS(dir, os.DirFS(shelf+"/good/plain")); err != nil {
		t.Fatal(err)
	}
	if err := os.Remove(filepath.Join(dir, "show.yaml")); err != nil {
		t.Fatal(err)
	}
	if err := syscall.Mkfifo(filepath.Join(dir, "show.yaml"), 0o600); err != nil {
		t.Fatal(err)
	}
	if got, want := problemsOf(t, os.DirFS(dir)), "show.yaml: not a plain file"; got != want {
		t.Errorf("got %s\nwant %s", got, want)
	}
}
