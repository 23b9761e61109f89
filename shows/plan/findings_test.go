package plan_test

import (
	"context"
	"os"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/shows/language"
	"tactus/shows/plan"
	"tactus/shows/showtest"
)

const shelf = "../../testdata/shows/findings"

// laid returns the small hall with a folder's files over it.
func laid(t *testing.T, name string) fstest.MapFS {
	t.Helper()
	return showtest.Files(t, os.DirFS(shelf+"/hall"), os.DirFS(shelf+"/"+name))
}

// Every song of the shelf says on top what is to be found in it, and that is all
// that is found. There is one for every kind. Where there is a set, what the song
// before left is a part of it.
func TestEachBadSongIsCaughtByItsFindingOnly(t *testing.T) {
	dirs, err := os.ReadDir(shelf)
	require.NoError(t, err)
	seen := map[string]bool{}
	for _, dir := range dirs {
		if !dir.IsDir() || dir.Name() == "hall" {
			continue
		}
		t.Run(dir.Name(), func(t *testing.T) {
			files := laid(t, dir.Name())
			first, _, _ := strings.Cut(string(files["songs/song.yaml"].Data), "\n")
			want, ok := strings.CutPrefix(first, "# finds:")
			require.True(t, ok, "the song does not begin with # finds:")
			n, err := plan.Measure(context.Background(), showtest.Load(t, files), plan.Options{Songs: []int32{0}})
			require.NoError(t, err)
			r := plan.Report(n)
			var got []string
			for _, f := range slices.Concat(r.Show, r.Songs[0].Findings) {
				words := string(f.Kind)
				if f.Accepted != "" {
					words = "accepted " + words
				}
				assert.NotEmpty(t, f.Reason, "says too little: %+v", f)
				assert.NotEmpty(t, f.Suggestion, "says too little: %+v", f)
				assert.NotEmpty(t, f.Written, "says too little: %+v", f)
				got = append(got, words)
				seen[string(f.Kind)] = true
				t.Logf("%s %s (%s): %s; %s", f.Kind, f.Place, f.Written, f.Reason, f.Suggestion)
			}
			if !assert.Equal(t, strings.TrimSpace(want), strings.Join(got, ", "), "finds") {
				for _, x := range r.Songs[0].Sections {
					t.Logf("%+v", x)
				}
			}
		})
	}
	for _, k := range append(language.Findings(), string(plan.EmptyNote), string(plan.NumbersDiffer), string(plan.Idle)) {
		assert.True(t, seen[k], "no song for %s", k)
	}
}

// The spoken section of faces-dark-before says nothing of the front light. After the
// walk-in it is lit; after the song that comes before it in the set it is not.
func TestFacesAreAsTheSongBeforeLeftThem(t *testing.T) {
	files := laid(t, "faces-dark-before")
	found := func() []plan.Kind {
		n, err := plan.Measure(context.Background(), showtest.Load(t, files), plan.Options{Songs: []int32{0}})
		require.NoError(t, err)
		var kinds []plan.Kind
		for _, f := range n.Songs[0].Findings {
			kinds = append(kinds, f.Kind)
		}
		return kinds
	}
	assert.Equal(t, []plan.Kind{plan.FacesDark}, found())
	for _, set := range []string{"[song, tale]", "[tale]"} {
		files["sets/set.yaml"] = &fstest.MapFile{Data: []byte("set: Set\nsongs: " + set + "\nwalk-in: low\n")}
		assert.Empty(t, found(), "the set is %s", set)
	}
}
