package paper

import (
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/shows/showtest"
)

// TestTrouble: the address of the page comes first; the table has buttons, then keys,
// then notes.
func TestTrouble(t *testing.T) {
	s := showtest.Load(t, os.DirFS("testdata/hall"))
	leaf := trouble(s, &Options{Page: "10.0.0.5:4480", Usual: "127.0.0.1:4480"})
	require.NotEmpty(t, leaf.Words)
	assert.Contains(t, leaf.Words[0], "10.0.0.5:4480")
	assert.Contains(t, leaf.Words[0], "127.0.0.1:4480")
	assert.Contains(t, trouble(s, &Options{}).Words[0], "____", "an address that nobody said")
	assert.Equal(t, []string{"button on the page", "key", "note", "what it does"}, leaf.Tables[0].Heads)
	var rows []string
	for _, r := range leaf.Tables[0].Rows {
		rows = append(rows, strings.ReplaceAll(strings.Join(r.Cells[:3], "|"), nbsp, " "))
	}
	assert.Equal(t, []string{
		"Work light|w|G8 (115)", "Work light off, where Work light was|w|G#8 (116)", "Hold|h|C7 (96)", "Release, where Hold was|h|C#7 (97)",
		"Blackout, twice|b|D7 (98)", "Restore, where Blackout was|b|D#7 (99)", "House lights: Up||D#8 (111)", "Next section|n|B7 (107)",
		"Talk||C#8 (109)", "Walk-in, twice||E7 (100)", "none; tap the song twice||F#7 (102)", "none; tap the song twice||A#7 (106)",
	}, rows)
}
