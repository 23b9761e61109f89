package draft_test

import (
	"flag"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/shows"
	"tactus/shows/draft"
	"tactus/shows/showtest"
)

var update = flag.Bool("update", false, "rewrite the expected files")

// hall is the demo with one more song.
func hall(t testing.TB, song string) fstest.MapFS {
	t.Helper()
	files := showtest.Files(t, shows.Demo())
	files["songs/new.yaml"] = &fstest.MapFile{Data: []byte(song)}
	return files
}

func drafted(t testing.TB, files fs.FS) *draft.Draft {
	t.Helper()
	d, err := draft.New(files, "songs/new.yaml")
	require.NoError(t, err)
	return d
}

// Three songs as they are drafted, to be read with the eyes of someone who
// lights shows.
func TestGoldenDrafts(t *testing.T) {
	names, err := filepath.Glob("testdata/*.yaml")
	require.NoError(t, err)
	require.GreaterOrEqual(t, len(names), 3)
	for _, name := range names {
		src, err := os.ReadFile(name)
		require.NoError(t, err)
		got := drafted(t, hall(t, string(src))).Source
		golden := strings.TrimSuffix(name, ".yaml") + ".golden"
		if *update {
			require.NoError(t, os.WriteFile(golden, got, 0o644))
		}
		want, err := os.ReadFile(golden)
		require.NoError(t, err)
		assert.Equal(t, string(want), string(got), "%s differs; review it and run the test with -update.", golden)
		cleared, n := draft.Clear(got)
		assert.Equal(t, string(src), string(cleared), name)
		assert.NotZero(t, n, name)
	}
}

// rowAt returns what a draft says of a place.
func rowAt(t testing.TB, d *draft.Draft, at string) draft.Row {
	t.Helper()
	i := slices.IndexFunc(d.Rows, func(r draft.Row) bool { return r.At == at && r.In == "" })
	require.GreaterOrEqual(t, i, 0, "nothing at %q in %v", at, d.Rows)
	return d.Rows[i]
}

func hasRow(d *draft.Draft, at string) bool {
	return slices.ContainsFunc(d.Rows, func(r draft.Row) bool { return r.At == at && r.In == "" })
}
