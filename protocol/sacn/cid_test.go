package sacn_test

import (
	"encoding/hex"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/uuid"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/protocol/sacn"
)

func TestCIDIsStable(t *testing.T) {
	path := filepath.Join(t.TempDir(), "state", "cid")
	first, err := sacn.LoadCID(path)
	require.NoError(t, err)
	again, err := sacn.LoadCID(path)
	assert.NoError(t, err, "second start")
	assert.Equal(t, first, again, "second start")
	// RFC 4122, 3 and 4.1: five groups of hexadecimal digits, version 4, variant 10.
	text, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Regexp(t, `^[0-9a-f]{8}-[0-9a-f]{4}-4[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}\n$`, string(text))
	octets, err := hex.DecodeString(strings.ReplaceAll(strings.TrimSpace(string(text)), "-", ""))
	assert.NoError(t, err, "file holds %q", text)
	assert.Equal(t, first[:], octets, "file holds %q", text)
	files, _ := os.ReadDir(filepath.Dir(path))
	assert.Len(t, files, 1, "left behind")
	other, err := sacn.LoadCID(filepath.Join(t.TempDir(), "cid"))
	assert.NoError(t, err, "two installations share")
	assert.NotEqual(t, first, other, "two installations share")
}

// A state file that is no good gives a warning and a CID for this run.
func TestCIDWithoutState(t *testing.T) {
	dir := t.TempDir()
	write := func(name, text string) string {
		path := filepath.Join(dir, name)
		require.NoError(t, os.WriteFile(path, []byte(text), 0o644))
		return path
	}
	file := write("file", "")
	for what, path := range map[string]string{
		"empty":          file,
		"garbled":        write("garbled", "not a UUID\n"),
		"half":           write("half", "f81d4fae-7dec-11d0-a765"),
		"nil UUID":       write("nil", "00000000-0000-0000-0000-000000000000"),
		"extra dash":     write("dash", "f81d4fae-7dec-11d0-a765-00a0c91e6b-6"),
		"a folder":       dir,
		"below a file":   filepath.Join(file, "cid"),
		"in no fs":       "/proc/nowhere/cid",
		"path with zero": "a\x00b",
	} {
		before, _ := os.ReadFile(path)
		cid, err := sacn.LoadCID(path)
		if assert.Error(t, err, what) {
			assert.True(t, strings.HasPrefix(err.Error(), "sacn: "), what)
		}
		assert.EqualValues(t, 4, uuid.UUID(cid).Version(), "%s: no usable CID", what)
		after, _ := os.ReadFile(path)
		assert.Equal(t, string(before), string(after), "%s: the file was changed", what)
	}
}
