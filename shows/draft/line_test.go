package draft

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/clock"
	"tactus/shows/songtext"
)

// A line is the draft's as long as every letter of it is as it was.
func TestAnyLetterBreaksTheSeal(t *testing.T) {
	c := Cue{At: "chorus 1", Look: "full sail", Effects: []string{"a", "b"}, Fade: "1/2 beat", Reason: "energy 8, up 2"}
	line := c.String()
	at, ok := songtext.PlaceOf(line)
	require.True(t, ok, "%s is not taken for a drafted line", line)
	require.Equal(t, spot{At: "chorus 1"}, at, "%s is not taken for a drafted line", line)
	require.True(t, songtext.Untouched(line, ""), "%s is not taken for a drafted line", line)
	for i := range line {
		for _, with := range []string{"", "x", line[i:i+1] + " "} {
			if now := line[:i] + with + line[i+1:]; now != line {
				assert.False(t, songtext.Untouched(now, ""), "%s passes for untouched", now)
			}
		}
	}
	assert.False(t, songtext.Untouched(line, saltGap), "the seal fits with any salt")
}

func FuzzClear(f *testing.F) {
	c := Cue{At: "a", Look: "low", Reason: "x"}
	head := songtext.Sealed(heading, "")
	for _, src := range []string{
		"", "\n", "cues:", head, head + "\n  " + c.String(), "a: b\n\n" + songtext.Sealed(heading, saltGap) + "\n  " + c.String() + "\n  - {at: b}\n",
		"cues:\n  -\n   at: b\n# - " + c.String() + "\nx: y", "cues: [1]\r\n" + c.String() + "\r\n", "a: \u2028b\rcues:\n  - {at: x}", "- cues:\n", "? cues\n: - a",
	} {
		f.Add([]byte(src))
	}
	f.Fuzz(func(t *testing.T, src []byte) {
		cleared, n := Clear(src)
		if n == 0 {
			assert.LessOrEqual(t, len(cleared), len(src))
		}
		text := read(src)
		lists, err := text.find()
		if err != nil {
			return
		}
		assert.Less(t, lists.head, len(text.Lines), "%q", src)
		assert.LessOrEqual(t, lists.end, len(text.Lines), "%q", src)
		_, err = text.mergeCues([]Cue{c}, func(string) (b clock.Beat) { return b })
		assert.NoError(t, err, "%q", src)
	})
}
