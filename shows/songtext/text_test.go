package songtext

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"
)

// A file that is read and joined again keeps every byte.
func TestReadKeepsBytes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		src := rapid.StringOf(rapid.RuneFrom([]rune("a: #\n\r\n\t \u2028é"))).Draw(t, "file")
		text := Read([]byte(src))
		assert.Equal(t, src, string(text.Bytes(text.Lines)))
	})
}

func TestWith(t *testing.T) {
	for _, c := range []struct {
		src   string
		after int
		want  string
	}{
		{"a\nb\n", 1, "a\nnew\nb\n"},
		{"a\nb\n", 2, "a\nb\nnew\n"},
		{"a\nb", 2, "a\nb\nnew"},
		{"a\r\nb\r\n", 1, "a\r\nnew\r\nb\r\n"},
		{"a\r\nb", 2, "a\r\nb\r\nnew"},
		{"a", 1, "a\nnew"},
	} {
		text := Read([]byte(c.src))
		assert.Equal(t, c.want, string(text.Bytes(text.With(c.after, "new"))), "%q", c.src)
	}
}

func TestOddLineEnds(t *testing.T) {
	for src, want := range map[string]bool{"a\nb\n": false, "a\r\nb\r\n": false, "a\rb\n": true, "a\u2028b": true, "a\u0085b": true} {
		text := Read([]byte(src))
		assert.Equal(t, want, text.Odd, "%q", src)
	}
	for line, want := range map[string]bool{"": true, "  ": true, " # x": true, "a # b": false, "- a": false} {
		assert.Equal(t, want, IsRemark(line), "%q", line)
	}
}

// A drafted line that is moved to another place is still one that nobody has changed; a
// line that somebody has changed stays as it is.
func TestMoved(t *testing.T) {
	line := Sealed("- {at: chorus 1, look: embers}"+Mark+"energy 6", "")
	moved, ok := Moved(line, "chorus 2")
	assert.True(t, ok)
	assert.True(t, Untouched(moved, ""), moved)
	at, drafted := PlaceOf(moved)
	assert.True(t, drafted)
	assert.Equal(t, Place{At: "chorus 2"}, at)
	moved, ok = Moved(line, "bridge, bar 3")
	assert.True(t, ok)
	at, _ = PlaceOf(moved)
	assert.Equal(t, Place{At: "bridge, bar 3"}, at)
	assert.Contains(t, moved, `- {at: "bridge, bar 3", look: embers}  # drafted: energy 6 (`)
	again, ok := Moved(moved, "chorus 1")
	assert.True(t, ok)
	assert.Equal(t, line, again)
	_, ok = Moved("- {at: chorus 1, look: dark}", "chorus 2")
	assert.False(t, ok)
}
