//go:build unix

package shows_test

import (
	"os"
	"path/filepath"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Nothing waits for a pipe in the place of a file.
func TestPipe(t *testing.T) {
	dir := t.TempDir()
	require.NoError(t, os.CopyFS(dir, os.DirFS(shelf+"/good/plain")))
	require.NoError(t, os.Remove(filepath.Join(dir, "show.yaml")))
	require.NoError(t, syscall.Mkfifo(filepath.Join(dir, "show.yaml"), 0o600))
	assert.Equal(t, "show.yaml: not a plain file", problemsOf(t, os.DirFS(dir)))
}
