package shows_test

import (
	"fmt"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/shows"
)

// twoNights is the demo with two sets, and a song in neither.
func twoNights(t *testing.T) fstest.MapFS {
	t.Helper()
	files := folder(t, "harbour-hall")
	delete(files, "sets/november.yaml")
	write := func(name, text string) { files[name] = &fstest.MapFile{Data: []byte(text)} }
	song := func(name string) string {
		return "song: " + name + "\ntempo: 96 bpm\nmeter: 4/4\nsections:\n  - verse: {bars: 4, energy: 2, look: embers}\n"
	}
	write("songs/anchor.yaml", song("Anchor"))
	write("songs/ebb.yaml", song("Ebb"))
	write("songs/spare.yaml", song("Spare"))
	write("sets/friday.yaml", "set: Friday\nsongs: [lanterns, saturday, breakwater]\nwalk-in: walk-in\nwalk-out: walk-out\n")
	write("sets/sunday.yaml", "set: Sunday\nsongs: [ebb, lanterns, saturday, anchor]\nwalk-in: walk-in\nwalk-out: walk-out\n")
	return files
}

// numbers returns the program of each song of a set, by the song's file, from 1.
func numbers(t *testing.T, files fstest.MapFS, set string) map[string]int {
	t.Helper()
	show, problems := shows.Load(files, shows.Options{Set: set})
	require.Empty(t, problems)
	got := map[string]int{}
	for program, song := range show.Program.Notes.ByProgram {
		if song >= 0 {
			got[strings.TrimSuffix(strings.TrimPrefix(show.Files[song], "songs/"), ".yaml")] = program + 1
		}
	}
	return got
}

// The chosen set keeps its numbers, songs of the other set get free ones, and then each
// song has one number on every night.
func TestNumberSongs(t *testing.T) {
	files := twoNights(t)
	require.Equal(t, map[string]int{"lanterns": 1, "saturday": 2, "breakwater": 3}, numbers(t, files, "Friday"))
	require.Equal(t, map[string]int{"ebb": 1, "lanterns": 2, "saturday": 3, "anchor": 4}, numbers(t, files, "Sunday"))
	show, problems := shows.Load(files, shows.Options{Set: "Friday"})
	require.Empty(t, problems)
	list, err := shows.NumberSongs(show)
	require.NoError(t, err)
	require.Len(t, list, 5, "all songs of sets")
	for _, n := range list {
		f := files[show.Files[n.Song]]
		f.Data = fmt.Appendf(f.Data, "program: %d\n", n.Program+1)
	}
	all := map[string]int{"lanterns": 1, "saturday": 2, "breakwater": 3, "anchor": 4, "ebb": 5}
	assert.Equal(t, all, numbers(t, files, "Friday"))
	assert.Equal(t, all, numbers(t, files, "Sunday"))
	show, problems = shows.Load(files, shows.Options{Set: "Sunday"})
	require.Empty(t, problems)
	list, err = shows.NumberSongs(show)
	require.NoError(t, err)
	assert.Empty(t, list, "a second time there is nothing to write")
}

// There are 128 programs. With more songs in sets none is numbered: numbers for some
// would clash with the places of the others.
func TestMoreSongsThanPrograms(t *testing.T) {
	files := folder(t, "harbour-hall")
	for name := range files {
		if strings.HasPrefix(name, "songs/") || strings.HasPrefix(name, "sets/") {
			delete(files, name)
		}
	}
	sets := []string{"", ""}
	add := func(i int) {
		name := fmt.Sprintf("s%03d", i)
		files["songs/"+name+".yaml"] = &fstest.MapFile{Data: []byte("song: Song " + name + "\ntempo: 96 bpm\nmeter: 4/4\nsections:\n  - verse: {bars: 4, energy: 2, look: embers}\n")}
		sets[i/100] += name + ", "
		for k, list := range sets {
			files[fmt.Sprintf("sets/%d.yaml", k)] = &fstest.MapFile{Data: fmt.Appendf(nil, "set: Night %d\nsongs: [%s]\n", k, strings.TrimSuffix(list, ", "))}
		}
	}
	numbered := func() ([]shows.NumberedSong, error) {
		show, problems := shows.Load(files, shows.Options{Set: "Night 0"})
		require.Empty(t, problems)
		return shows.NumberSongs(show)
	}
	for i := range 128 {
		add(i)
	}
	list, err := numbered()
	require.NoError(t, err)
	require.Len(t, list, 128)
	for i, n := range list {
		assert.EqualValues(t, i, n.Program)
	}
	add(128)
	add(129)
	list, err = numbered()
	require.ErrorIs(t, err, shows.ErrPrograms)
	assert.EqualError(t, err, "there are only 128 MIDI programs: 2 songs of the sets would have none")
	assert.Empty(t, list)
}
