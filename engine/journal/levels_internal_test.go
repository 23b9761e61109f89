package journal

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/engine"
)

// The longest line of levels is one that the reader takes.
func TestLevelsLine(t *testing.T) {
	r := engine.Record{Kind: engine.RecordLevels, Levels: engine.InputLevels{Input: 7, Present: true, Changed: engine.AllSlots()}}
	for i := range r.Levels.Levels {
		r.Levels.Levels[i] = byte(255 - i%100)
	}
	line := AppendRecord(nil, &r)
	require.Less(t, len(line), maxLineBytes)
	got, err := ParseRecord(string(line[:len(line)-1]))
	require.NoError(t, err)
	assert.Equal(t, r, got)
	for _, bad := range []string{
		"levels", "levels x present", "levels 0", "levels 0 here", "levels 0 gone 1=2", "levels 0 present 0=1", "levels 0 present 513=1",
		"levels 0 present 1=256", "levels 0 present 1", "levels 0 present 2=1 1=1", "levels 0 present 1=1 1=1", "levels 0 present  1=1", "levels 9999999999 gone",
	} {
		_, err := ParseRecord("1.000000000 " + bad)
		assert.ErrorIs(t, err, ErrLine, bad)
	}
}
