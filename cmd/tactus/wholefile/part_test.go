package wholefile_test

import (
	"context"
	"errors"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/cmd/tactus/wholefile"
)

func TestWriteFile(t *testing.T) {
	full := errors.New("disk full")
	for _, c := range []struct {
		name   string
		write  func(cancel func(), w io.Writer) error
		want   error
		now    string
		before string // "": no file
	}{
		{"new", func(_ func(), w io.Writer) error { _, err := io.WriteString(w, "new"); return err }, nil, "new", ""},
		{"over", func(_ func(), w io.Writer) error { _, err := io.WriteString(w, "new"); return err }, nil, "new", "the old file"},
		{"error", func(_ func(), w io.Writer) error { _, _ = io.WriteString(w, "ne"); return full }, full, "the old file", "the old file"},
		{"error, new", func(_ func(), w io.Writer) error { _, _ = io.WriteString(w, "ne"); return full }, full, "", ""},
		{"cancelled midway", func(cancel func(), w io.Writer) error {
			_, _ = io.WriteString(w, "ne")
			cancel()
			_, err := io.WriteString(w, "w")
			return err
		}, wholefile.ErrInterrupted, "the old file", "the old file"},
		{"cancelled after the last byte", func(cancel func(), w io.Writer) error {
			_, err := io.WriteString(w, "new")
			cancel()
			return err
		}, wholefile.ErrInterrupted, "the old file", "the old file"},
	} {
		t.Run(c.name, func(t *testing.T) {
			dir := t.TempDir()
			name := filepath.Join(dir, "paper.txt")
			if c.before != "" {
				require.NoError(t, os.WriteFile(name, []byte(c.before), 0o600))
			}
			ctx, cancel := context.WithCancel(t.Context())
			defer cancel()
			err := wholefile.Write(ctx, name, func(w io.Writer) error { return c.write(cancel, w) })
			assert.ErrorIs(t, err, c.want)
			got, _ := os.ReadFile(name)
			assert.Equal(t, c.now, string(got), "in the file")
			entries, _ := os.ReadDir(dir)
			assert.Len(t, entries, min(1, len(c.now)))
			if info, err := os.Stat(name); err == nil && c.before != "" && runtime.GOOS != "windows" {
				assert.EqualValues(t, 0o600, info.Mode(), "permissions")
			}
		})
	}
}

func TestWriteFileKeepsLinks(t *testing.T) {
	dir := t.TempDir()
	file, link := filepath.Join(dir, "file"), filepath.Join(dir, "link")
	require.NoError(t, os.WriteFile(file, []byte("old"), 0o644))
	if err := os.Symlink(file, link); err != nil {
		t.Skip("no links here: ", err)
	}
	err := wholefile.Write(t.Context(), link, func(w io.Writer) error { _, err := io.WriteString(w, "new"); return err })
	got, _ := os.ReadFile(file)
	if info, _ := os.Lstat(link); assert.NoError(t, err, "the link is %v", info.Mode()) {
		assert.Equal(t, "new", string(got), "the link is %v", info.Mode())
		assert.NotZero(t, info.Mode()&os.ModeSymlink, "the link is %v", info.Mode())
	}
	assert.Error(t, wholefile.Write(t.Context(), dir, func(io.Writer) error { return nil }), "a folder was written over")
}

// Nothing that exists is written over unasked, and all of it is named at once.
func TestCheckNew(t *testing.T) {
	dir := t.TempDir()
	one, other, missing := filepath.Join(dir, "one"), filepath.Join(dir, "other"), filepath.Join(dir, "missing")
	require.NoError(t, os.WriteFile(one, nil, 0o644))
	require.NoError(t, os.WriteFile(other, nil, 0o644))
	for _, c := range []struct {
		names []string
		want  string
	}{
		{nil, ""},
		{[]string{"", missing, dir, os.DevNull}, ""},
		{[]string{missing, one}, one + " exists; --force writes over it"},
		{[]string{one, missing, other}, "these files exist; --force writes over them: " + one + ", " + other},
	} {
		assert.NoError(t, wholefile.CheckNew(true, c.names...), c.names)
		if err := wholefile.CheckNew(false, c.names...); c.want == "" {
			assert.NoError(t, err, c.names)
		} else {
			assert.EqualError(t, err, c.want, c.names)
		}
	}
	if link := filepath.Join(dir, "link"); os.Symlink(missing, link) == nil {
		assert.Error(t, wholefile.CheckNew(false, link), "a link to a file that is missing")
	}
	if runtime.GOOS != "windows" {
		assert.Error(t, wholefile.CheckNew(false, filepath.Join(one, "below")), "a file below a file")
	}
}

// A link that leads out of its folder is not written through: what it points to stays.
func TestWriteRefusesLinksToOtherFolders(t *testing.T) {
	dir, elsewhere := t.TempDir(), t.TempDir()
	secret, link := filepath.Join(elsewhere, "secret"), filepath.Join(dir, "night.svg")
	require.NoError(t, os.WriteFile(secret, []byte("mine"), 0o600))
	if err := os.Symlink(secret, link); err != nil {
		t.Skip("no links here: ", err)
	}
	err := wholefile.Write(t.Context(), link, wholefile.Bytes([]byte("new")))
	require.ErrorIs(t, err, wholefile.ErrLink)
	assert.ErrorContains(t, err, secret)
	assert.ErrorIs(t, wholefile.WriteNew(link, []byte("new"), true), wholefile.ErrLink)
	got, err := os.ReadFile(secret)
	require.NoError(t, err)
	assert.Equal(t, "mine", string(got))
	// A folder that is itself a link is the user's own choice.
	folder := filepath.Join(t.TempDir(), "plots")
	require.NoError(t, os.Symlink(elsewhere, folder))
	require.NoError(t, wholefile.WriteNew(filepath.Join(folder, "secret"), []byte("new"), true))
}

// A secret is for its owner alone, also where a file that all could read was before.
func TestWriteSecret(t *testing.T) {
	name := filepath.Join(t.TempDir(), "state", "panel-control")
	require.NoError(t, os.MkdirAll(filepath.Dir(name), 0o700))
	require.NoError(t, os.WriteFile(name, []byte("old"), 0o644))
	require.NoError(t, os.Chmod(name, 0o644)) // whatever the umask
	require.NoError(t, wholefile.WriteSecret(name, []byte("new")))
	got, err := os.ReadFile(name)
	require.NoError(t, err)
	assert.Equal(t, "new", string(got))
	if info, err := os.Stat(name); runtime.GOOS != "windows" && assert.NoError(t, err) {
		assert.EqualValues(t, 0o600, info.Mode())
	}
}
