package compose_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tactus/shows/compose"
)

// What is encoded is decoded as the same edits.
func TestEncodedEditsAreDecoded(t *testing.T) {
	round := func(t require.TestingT, src string) {
		edits, err := compose.Decode([]byte(src))
		require.NoError(t, err, src)
		out, err := compose.Encode(edits)
		require.NoError(t, err)
		again, err := compose.Decode(out)
		require.NoError(t, err, "%s", out)
		assert.Equal(t, edits, again)
	}
	round(t, `[{"do": "set section", "song": "songs/a.yaml", "section": 1, "key": "set", "to": {"fronts": {"intensity": "40 %"}, "x\"y": [1, "2", []]}},
		{"do": "set cue", "song": "songs/a.yaml", "cue": 1, "key": "look", "to": null}, {"do": "draft song", "song": "songs/a.yaml", "sections": [2, 3]}, {"do": "draft song", "song": "s"},
		{"do": "place cue", "song": "songs/a.yaml", "at": "verse"}, {"do": "set place", "fixture": "a", "at": [1.5, 2, 3]}]`)
	rapid.Check(t, func(t *rapid.T) { round(t, someEdit(t)) })
}
