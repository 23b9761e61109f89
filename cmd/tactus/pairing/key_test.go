package pairing

import (
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestKeyAsText(t *testing.T) {
	k := NewKey()
	assert.NotEqual(t, k, NewKey(), "two keys")
	text := k.Text()
	assert.Regexp(t, `^([A-Z2-7]{4}-){7}[A-Z2-7]{4}$`, text)
	for _, typed := range []string{text, strings.ToLower(text), strings.ReplaceAll(text, "-", " "), strings.NewReplacer("O", "0", "I", "1", "B", "8").Replace(text), text + "\r\n"} {
		got, err := ParseKey(typed)
		require.NoError(t, err, typed)
		assert.Equal(t, k, got, typed)
	}
	for _, bad := range []string{"", text[1:], text + "A", strings.Replace(text, text[:1], "!", 1), "9" + text[1:]} {
		_, err := ParseKey(bad)
		assert.ErrorIs(t, err, ErrKey, bad)
		assert.NotContains(t, err.Error(), text[10:20], "an error does not show the key")
	}
	assert.NotContains(t, fmt.Sprint(k), text[:4], "printed by accident")
}

// The same key has the same mark everywhere, and another key another one.
func TestCheckMark(t *testing.T) {
	k, err := ParseKey("AAAA-BBBB-CCCC-DDDD-EEEE-FFFF-GGGG-HHHH")
	require.NoError(t, err)
	assert.Equal(t, k.CheckMark(), k.CheckMark())
	assert.Regexp(t, `^[0-9a-f]{4} [0-9a-f]{4}$`, k.CheckMark())
	assert.NotEqual(t, k.CheckMark(), NewKey().CheckMark())
}

func TestSaveAndLoad(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "state")
	_, err := Load(dir)
	require.ErrorIs(t, err, ErrNoKey)
	assert.ErrorContains(t, err, "tactus pair")
	k := NewKey()
	path, err := Save(dir, k, false)
	require.NoError(t, err)
	got, err := Load(dir)
	require.NoError(t, err)
	assert.Equal(t, k, got)
	if runtime.GOOS != "windows" {
		info, err := os.Stat(path)
		require.NoError(t, err)
		assert.EqualValues(t, 0o600, info.Mode().Perm())
	}

	_, err = Save(dir, NewKey(), false)
	assert.Error(t, err, "a key is not replaced unasked")
	other := NewKey()
	_, err = Save(dir, other, true)
	require.NoError(t, err)
	got, err = Load(dir)
	require.NoError(t, err)
	assert.Equal(t, other, got)
	left, err := os.ReadDir(dir)
	require.NoError(t, err)
	assert.Len(t, left, 1, "nothing else is left in the folder")
}

func TestLoadRefuses(t *testing.T) {
	dir := t.TempDir()
	path, err := Save(dir, NewKey(), false)
	require.NoError(t, err)
	if runtime.GOOS != "windows" {
		require.NoError(t, os.Chmod(path, 0o640))
		_, err = Load(dir)
		assert.ErrorIs(t, err, ErrKey)
		assert.ErrorContains(t, err, "chmod 600")
		require.NoError(t, os.Chmod(path, 0o600))
	}
	require.NoError(t, os.WriteFile(path, []byte("hello\n"), 0o600))
	_, err = Load(dir)
	assert.ErrorIs(t, err, ErrKey)
	assert.ErrorContains(t, err, path)
	require.NoError(t, os.WriteFile(path, make([]byte, maxKeyFile+1), 0o600))
	_, err = Load(dir)
	assert.ErrorIs(t, err, ErrKey, "a file that is too long")
}
