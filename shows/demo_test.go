package shows_test

import (
	"io/fs"
	"path"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/shows"
	"tactus/shows/language"
)

func TestDemoLoads(t *testing.T) {
	show, problems := shows.Load(shows.Demo(), shows.Options{})
	require.NoError(t, problems.Err(), "the demo has faults")
	assert.Len(t, show.Program.Heads, 16, "heads of the demo")
	assert.Len(t, show.Program.Songs, 3, "songs of the demo")
}

// Each file of the demo points an editor to its schema, which is there too.
func TestDemoPointsToSchemas(t *testing.T) {
	const lead = "# yaml-language-server: $schema="
	for name, f := range folder(t, "harbour-hall") {
		kind, ok := language.KindOf(name)
		if !ok {
			continue
		}
		first, _, _ := strings.Cut(string(f.Data), "\n")
		at := path.Join(path.Dir(name), strings.TrimPrefix(first, lead))
		assert.True(t, strings.HasPrefix(first, lead), "%s starts with %q", name, first)
		assert.Equal(t, string(kind)+".schema.json", path.Base(at), "%s starts with %q", name, first)
		_, err := fs.Stat(shows.Demo(), at)
		assert.NoError(t, err, "%s points to %s", name, at)
	}
}
