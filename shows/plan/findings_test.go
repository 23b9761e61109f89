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
			options := plan.Options{Songs: []int32{0}}
			if !ok { // where songs of a set are compared, all are measured
				want, ok = strings.CutPrefix(first, "# finds in the set:")
				options.Songs = nil
			}
			require.True(t, ok, "the song does not begin with # finds: or # finds in the set:")
			n, err := plan.Measure(context.Background(), showtest.Load(t, files), options)
			require.NoError(t, err)
			r := plan.Report(n)
			var got []string
			found := r.Show
			for _, s := range r.Songs {
				found = append(found, s.Findings...)
			}
			for _, f := range found {
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

// Two kept groups that share a fixture report it once: the second names the others.
func TestKeptFixtureIsReportedOnce(t *testing.T) {
	files := laid(t, "never-set")
	rig := string(files["rig.yaml"].Data)
	keep := func(list string) {
		now := strings.Replace(rig, "keep: [front, house]", "keep: "+list, 1)
		now = strings.Replace(now, "lamps: lamp 1-4\n", "lamps: lamp 1-4\n  hall: [house, lamp 4]\n  walls: house\n", 1)
		require.NotEqual(t, rig, now)
		files["rig.yaml"] = &fstest.MapFile{Data: []byte(now)}
	}
	looks := strings.ReplaceAll(string(files["looks.yaml"].Data), "{lamps: {", "{lamp 1-3: {")
	looks = strings.Replace(looks, "house: {intensity: 80 %}", "house: {intensity: 80 %}, lamp 4: {intensity: 50 %}", 1)
	files["looks.yaml"] = &fstest.MapFile{Data: []byte(looks)}
	named := func() (names []string) {
		n, err := plan.Measure(context.Background(), showtest.Load(t, files), plan.Options{Songs: []int32{0}})
		require.NoError(t, err)
		for _, f := range n.Findings {
			assert.Equal(t, plan.NeverSet, f.Kind)
			name, _, _ := strings.Cut(f.Reason, ":")
			names = append(names, name)
		}
		return names
	}
	for list, want := range map[string][]string{
		"[front, hall]":         {"hall"},
		"[front, house, walls]": {"house"},
		"[front, walls, hall]":  {"walls", "lamp 4"},
		"[front, hall, walls]":  {"hall"},
	} {
		keep(list)
		assert.Equal(t, want, named(), "keep: %s", list)
	}
}

// The house lights are named with each strong section in which they are up.
func TestHouseLightsAreNamedWithTheirSections(t *testing.T) {
	n, err := plan.Measure(context.Background(), showtest.Load(t, laid(t, "house-lit")), plan.Options{})
	require.NoError(t, err)
	require.Len(t, n.Songs[0].Findings, 1)
	reason := n.Songs[0].Findings[0].Reason
	assert.Contains(t, reason, "in chorus 1, outro; want 30 % or less where energy is 6 or more")
	assert.NotContains(t, reason, "chorus 2")
}

// Neighbours that look alike are a warning if their energies differ, and a hint if only
// their names do. Neighbours of one name and energy may look alike.
func TestAlikeIsAHintWhereOnlyNamesDiffer(t *testing.T) {
	for name, want := range map[string]plan.Finding{
		"alike":       {Severity: plan.Warning, Place: "verse, bar 1 beat 1"},
		"alike-names": {Severity: plan.Hint, Place: "bridge 1, bar 1 beat 1"},
	} {
		n, err := plan.Measure(context.Background(), showtest.Load(t, laid(t, name)), plan.Options{})
		require.NoError(t, err)
		require.Len(t, n.Songs[0].Findings, 1, name)
		f := n.Songs[0].Findings[0]
		assert.Equal(t, plan.Alike, f.Kind, name)
		assert.Equal(t, want.Severity, f.Severity, name)
		assert.Equal(t, want.Place, f.Place, name)
	}
}

// findingsOf measures a song with sections and what else its file says.
func findingsOf(t *testing.T, song string) []plan.Finding {
	t.Helper()
	files := laid(t, "fine")
	files["songs/song.yaml"] = &fstest.MapFile{Data: []byte("song: Song\ntempo: 120 bpm\nmeter: 4/4\nsections:\n" + song)}
	n, err := plan.Measure(context.Background(), showtest.Load(t, files), plan.Options{})
	require.NoError(t, err)
	return n.Songs[0].Findings
}

// An inversion says why the peak is dim only if it is about the peak and the section
// that is brighter. Of other sections it hides nothing, accepted or not.
func TestInversionsHideOnlyTheirOwnDimPeak(t *testing.T) {
	const elsewhere = `  - intro: {bars: 8, energy: 1, look: mid}
  - verse: {bars: 8, energy: 4, look: low}
  - pre-chorus: {bars: 8, energy: 5, look: mid}
  - chorus: {bars: 8, energy: 7, look: high, set: {lamps: {intensity: 34 %}}}
  - chorus: {bars: 8, energy: 8, look: high, set: {lamp 1-2: {intensity: 42 %}, lamp 3-4: {intensity: 22 %}}}
`
	const ofPeak = `  - verse: {bars: 8, energy: 2, look: low}
  - bridge: {bars: 8, energy: 4, look: high}
  - chorus: {bars: 8, energy: 8, look: mid}
`
	for _, c := range []struct {
		name, song string
		want       []string
	}{
		{"of other sections", elsewhere, []string{"inversion intro", "dim-peak chorus 2"}},
		{"of other sections, accepted", elsewhere + "accepted:\n  - {finding: inversion, in: verse, because: whispered}\n", []string{"accepted inversion intro", "dim-peak chorus 2"}},
		{"of the peak", ofPeak, []string{"inversion bridge"}},
		{"of the peak, accepted", ofPeak + "accepted:\n  - {finding: inversion, because: whispered}\n", []string{"accepted inversion bridge"}},
	} {
		var got []string
		for _, f := range findingsOf(t, c.song) {
			place, _, _ := strings.Cut(f.Place, ",")
			words := string(f.Kind) + " " + place
			if f.Accepted != "" {
				words = "accepted " + words
			}
			got = append(got, words)
		}
		assert.Equal(t, c.want, got, c.name)
	}
}

// An inversion is accepted in any of the sections that it names, and in no other.
func TestInversionsAreAcceptedInEachOfTheirSections(t *testing.T) {
	const song = `  - intro: {bars: 8, energy: 1, look: low}
  - bridge: {bars: 8, energy: 4, look: high}
  - chorus: {bars: 8, energy: 7, look: mid}
  - chorus: {bars: 8, energy: 8, look: mid, set: {lamps: {intensity: 34 %}}}
`
	for in, accepted := range map[string]bool{"intro": false, "bridge": true, "chorus 1": true, "chorus 2": true} {
		list := findingsOf(t, song+"accepted:\n  - {finding: inversion, in: "+in+", because: as it should be}\n")
		var kinds []plan.Kind
		for _, f := range list {
			kinds = append(kinds, f.Kind)
			if f.Kind == plan.Inversion {
				assert.Equal(t, accepted, f.Accepted != "", "in %s: %s", in, f.Reason)
			}
		}
		assert.Contains(t, kinds, plan.Inversion, "in %s", in)
		assert.Equal(t, !accepted, slices.Contains(kinds, plan.Idle), "in %s: %v", in, kinds)
	}
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
