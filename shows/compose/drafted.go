package compose

import (
	"strings"

	"tactus/shows/songtext"
)

// sealedAgain returns a song's text after an edit with new check sums, so that drafted lines
// that nobody had changed before the edit still count as drafted. A text with another number
// of lines than before is returned as it is.
func sealedAgain(before, after []byte) []byte {
	was, now := songtext.Read(before), songtext.Read(after)
	if len(was.Lines) != len(now.Lines) {
		return after
	}
	changed := false
	for i, line := range now.Lines {
		old := strings.TrimLeft(strings.TrimSuffix(was.Lines[i], "\r"), " ")
		if line == was.Lines[i] || !songtext.Untouched(old, "") {
			continue
		}
		text := strings.TrimSuffix(line, "\r")
		in := text[:len(text)-len(strings.TrimLeft(text, " "))]
		if without, _, ok := songtext.Unsealed(text[len(in):]); ok {
			now.Lines[i] = in + songtext.Sealed(without, "") + line[len(text):]
			changed = true
		}
	}
	if !changed {
		return after
	}
	return now.Bytes(now.Lines)
}
