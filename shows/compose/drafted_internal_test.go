package compose

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"tactus/shows/songtext"
)

// A drafted line in which a name changes still counts as drafted; one that a person has
// changed does not become so.
func TestSealedAgain(t *testing.T) {
	drafted := songtext.Sealed(`- {at: verse, look: low}`+songtext.Mark+"energy 3", "")
	theirs := strings.Replace(drafted, "low", "mid", 1)
	for _, end := range []string{"\n", "\r\n"} {
		before := "cues:" + end + "  " + drafted + end + "  " + theirs + end
		after := strings.NewReplacer("look: low", "look: calm", "look: mid", "look: noon").Replace(before)
		lines := strings.Split(string(sealedAgain([]byte(before), []byte(after))), end)
		if assert.Len(t, lines, 4) {
			assert.Contains(t, lines[1], "look: calm")
			assert.True(t, songtext.Untouched(strings.TrimSpace(lines[1]), ""), lines[1])
			assert.Equal(t, strings.Replace("  "+theirs, "look: mid", "look: noon", 1), lines[2])
			assert.False(t, songtext.Untouched(strings.TrimSpace(lines[2]), ""), lines[2])
		}
		assert.Equal(t, before, string(sealedAgain([]byte(before), []byte(before))))
	}
}
