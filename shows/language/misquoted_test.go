package language

import (
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// placeOf is where a text is said not to be YAML, and why; line 0 when it is.
func placeOf(src string) (line, column int, what string) {
	var found Faults
	read("songs/a.yaml", SongFile, []byte(src), &found)
	if len(found.List) == 0 {
		return 0, 0, ""
	}
	p := found.List[0]
	return p.Line, p.Column, p.What
}

// Places by hand: what a person would point at.
func TestSyntaxPlaces(t *testing.T) {
	for _, c := range []struct {
		name, src    string
		line, column int
		want         string
	}{
		{"brace", "a: {b: 1, c: 2\nd: 3\n", 1, 4, `"{" opens here`},
		{"bracket", "a:\n  - [1, 2\n  - [3]\n", 2, 5, `"[" opens here`},
		{"brace at the end", "a: 1\nb: {c: 1\n", 2, 4, `"{" opens here`},
		{"inner brace", "a: {b: {c: 1}\nd: 2\n", 1, 4, `"{" opens here`},
		{"quote", "a: 1\nb: \"two\nc: 3\n", 2, 4, "a quote opens here"},
		{"quote between others", `p: {a: "#111, b: "#222", c: "#333"}`, 1, 18, "a quote closes here"},
		{"colour without quotes", "p: {a: #112233, b: \"#445566\"}\n", 1, 8, "begins a comment"},
		{"column counts characters", "ü: {a: #112233}\n", 1, 8, "begins a comment"},
		{"all is well", "a: {b: \"x # y\", c: 'it''s'} # {\n", 0, 0, ""},
		{"a quote inside a word", "a: don't\nb: 3\" pipe\n", 0, 0, ""},
		{"brackets over lines", "a: {b: 1,\n  c: 2,\n}\nd: [\n  1, # one [\n  2]\n", 0, 0, ""},
		{"an escaped quote", `a: "b \" c"`, 0, 0, ""},
		{"line ends of other systems", "a: {b: 1,\r\n  c: 2}\r\n\r\nd: 'x'\r\n", 0, 0, ""},
	} {
		line, column, what := placeOf(c.src)
		assert.Equal(t, c.line, line, c.name)
		assert.Equal(t, c.column, column, c.name)
		assert.Contains(t, what, c.want, c.name)
		assert.Equal(t, c.want == "", what == "", c.name)
	}
}

// Whatever is typed, a place is one of the text's own.
func TestMisquotedPlaces(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		src := rapid.StringOf(rapid.RuneFrom([]rune("ab :-,{}[]\"'\\#\n\r\tü"))).Draw(t, "src")
		line, column, what := misquoted([]byte(src))
		require.Equal(t, what == "", line == 0, "line %d, %q", line, what)
		if line == 0 {
			return
		}
		lines := strings.Split(src, "\n")
		require.LessOrEqual(t, line, len(lines), "%q", what)
		require.GreaterOrEqual(t, column, 1, "%q", what)
		require.LessOrEqual(t, column, len([]rune(lines[line-1])), "%q", what)
	})
}

// The demo's files, which are YAML, have nothing open.
func TestMisquotedDemo(t *testing.T) {
	for _, name := range []string{"show.yaml", "rig.yaml", "looks.yaml", "songs/lanterns.yaml", "songs/saturday.yaml", "songs/breakwater.yaml", "sets/november.yaml"} {
		src, err := os.ReadFile("../harbour-hall/" + name)
		require.NoError(t, err)
		line, column, what := misquoted(src)
		assert.Zero(t, line, "%s:%d:%d: %s", name, line, column, what)
	}
}
