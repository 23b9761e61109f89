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
	for _, k := range append(language.Findings(), string(plan.EmptyNote), string(plan.NumbersDiffer), string(plan.NeverSet), string(plan.Idle)) {
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

// A kept group that no cue names is reported once, of the whole show, with the level
// at which it stays; its songs are not blamed as well. Where nothing is lit, nobody
// has to name the house lights.
func TestKeptGroupsThatNobodyNames(t *testing.T) {
	found := func(files fstest.MapFS) (show, song []string) {
		n, err := plan.Measure(context.Background(), showtest.Load(t, files), plan.Options{Songs: []int32{0}})
		require.NoError(t, err)
		for _, f := range n.Findings {
			show = append(show, string(f.Kind)+" "+f.Written+" "+f.Reason)
		}
		for _, f := range n.Songs[0].Findings {
			song = append(song, string(f.Kind))
		}
		return show, song
	}
	files := laid(t, "never-set")
	show, song := found(files)
	require.Len(t, show, 1)
	assert.Contains(t, show[0], "never-set rig.yaml:10 house: no cue of set \"Set\" names it")
	assert.Contains(t, show[0], "80 % of its light")
	assert.Empty(t, song, "the chorus is blamed too")

	dark := files["looks.yaml"].Data
	files["looks.yaml"] = &fstest.MapFile{Data: []byte(strings.Replace(string(dark), "house: {intensity: 80 %}", "house: {intensity: 0 %}", 1))}
	show, _ = found(files)
	assert.Empty(t, show, "house lights that are out all night")

	// An effect that moves them names them too.
	files["looks.yaml"] = &fstest.MapFile{Data: append(slices.Clone(dark), "  drift: {on: house, wave: sine, moves: intensity, period: 4 bars, depth: 20 %}\n"...)}
	files["songs/song.yaml"] = &fstest.MapFile{Data: []byte(strings.Replace(string(files["songs/song.yaml"].Data), "energy: 2,", "energy: 2, effects: drift,", 1))}
	show, song = found(files)
	assert.Empty(t, show, "moved by an effect")
	assert.Equal(t, []string{"house-lit"}, song)
}

// One chorus that is too dim is named once, with all sections that outshine it; and
// so is one verse that is too bright.
func TestOneCauseIsNamedOnce(t *testing.T) {
	findings := func(sections string) (list []string) {
		files := laid(t, "fine")
		files["songs/song.yaml"] = &fstest.MapFile{Data: []byte("song: Song\ntempo: 120 bpm\nmeter: 4/4\nsections:\n" + sections)}
		n, err := plan.Measure(context.Background(), showtest.Load(t, files), plan.Options{})
		require.NoError(t, err)
		for _, f := range n.Songs[0].Findings {
			list = append(list, string(f.Kind)+" "+f.Place+" "+f.Reason+"; "+f.Suggestion)
		}
		return list
	}
	dim := findings(`  - intro: {bars: 8, energy: 2, look: mid}
  - verse: {bars: 8, energy: 3, look: mid, set: {lamps: {intensity: 33 %}}}
  - bridge: {bars: 8, energy: 4, look: mid, set: {lamps: {intensity: 36 %}}}
  - tag: {bars: 8, energy: 5, look: mid, set: {lamps: {intensity: 40 %}}}
  - chorus: {bars: 8, energy: 8, look: low}
`)
	require.Len(t, dim, 1, "%q", dim)
	assert.Contains(t, dim[0], "inversion chorus, bar 1 beat 1 chorus, energy 8, strength 3.5, is weaker than intro (energy 2, strength 5.0), verse (energy 3, ")
	assert.Contains(t, dim[0], "; give chorus more")

	bright := findings(`  - verse: {bars: 8, energy: 1, look: high}
  - pre-chorus: {bars: 8, energy: 5, look: low}
  - chorus: {bars: 8, energy: 6, look: mid}
  - chorus: {bars: 8, energy: 7, look: mid, set: {lamps: {intensity: 36 %}}}
  - chorus: {bars: 8, energy: 8, look: mid, set: {lamps: {intensity: 45 %}}}
`)
	require.Len(t, bright, 1, "%q", bright)
	assert.Contains(t, bright[0], "inversion verse, bar 1 beat 1 verse, energy 1, strength 7.5, is stronger than pre-chorus (energy 5, strength 3.5), chorus 1 ")
	assert.Contains(t, bright[0], "; give verse less")
}
