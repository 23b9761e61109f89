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
// song has one number on every night. Files are as they were but for one line.
func TestNumberSongs(t *testing.T) {
	files := twoNights(t)
	require.Equal(t, map[string]int{"lanterns": 1, "saturday": 2, "breakwater": 3}, numbers(t, files, "Friday"))
	require.Equal(t, map[string]int{"ebb": 1, "lanterns": 2, "saturday": 3, "anchor": 4}, numbers(t, files, "Sunday"))
	show, problems := shows.Load(files, shows.Options{Set: "Friday"})
	require.Empty(t, problems)
	list, err := shows.NumberSongs(files, show)
	require.NoError(t, err)
	require.Len(t, list, 5, "all songs of sets")
	for _, n := range list {
		name := show.Files[n.Song]
		var rest []string
		for _, line := range strings.SplitAfter(string(n.Source), "\n") {
			if !strings.HasPrefix(line, "program: ") {
				rest = append(rest, line)
			}
		}
		assert.Equal(t, string(files[name].Data), strings.Join(rest, ""), name)
		files[name] = &fstest.MapFile{Data: n.Source}
	}
	all := map[string]int{"lanterns": 1, "saturday": 2, "breakwater": 3, "anchor": 4, "ebb": 5}
	assert.Equal(t, all, numbers(t, files, "Friday"))
	assert.Equal(t, all, numbers(t, files, "Sunday"))
	show, problems = shows.Load(files, shows.Options{Set: "Sunday"})
	require.Empty(t, problems)
	list, err = shows.NumberSongs(files, show)
	require.NoError(t, err)
	assert.Empty(t, list, "a second time there is nothing to write")
}

// A number goes after the line of the song's name, in the file's own manner; where that
// cannot be done, the error says what to write.
func TestNumberGoesAfterTheName(t *testing.T) {
	const sections = "sections:\n  - verse: {bars: 4, energy: 2, look: embers}\n"
	for _, c := range []struct{ name, src, want, err string }{
		{"plain", "# Why.\n\nsong: Ebb # low\ntempo: 96 bpm\nmeter: 4/4\n" + sections, "# Why.\n\nsong: Ebb # low\nprogram: 1\ntempo: 96 bpm\nmeter: 4/4\n" + sections, ""},
		{"carriage returns", "song: Ebb\r\ntempo: 96 bpm\r\nmeter: 4/4\r\nsections: [{verse: {bars: 4, energy: 2, look: embers}}]\r\n", "song: Ebb\r\nprogram: 1\r\ntempo: 96 bpm\r\nmeter: 4/4\r\nsections: [{verse: {bars: 4, energy: 2, look: embers}}]\r\n", ""},
		{"last, without a line feed", "tempo: 96 bpm\nmeter: 4/4\n" + sections + "song: Ebb", "tempo: 96 bpm\nmeter: 4/4\n" + sections + "song: Ebb\nprogram: 1", ""},
		{"indented", "  song: Ebb\n  tempo: 96 bpm\n  meter: 4/4\n  sections: [{verse: {bars: 4, energy: 2, look: embers}}]\n", "  song: Ebb\n  program: 1\n  tempo: 96 bpm\n  meter: 4/4\n  sections: [{verse: {bars: 4, energy: 2, look: embers}}]\n", ""},
		{"on one line", "{song: Ebb, tempo: 96 bpm, meter: 4/4, sections: [{verse: {bars: 4, energy: 2, look: embers}}]}\n", "", `songs/ebb.yaml: its keys stand on one line; write "program: 1" into it`},
		{"a byte order mark", "\ufeffsong: Ebb\ntempo: 96 bpm\nmeter: 4/4\n" + sections, "\ufeffsong: Ebb\nprogram: 1\ntempo: 96 bpm\nmeter: 4/4\n" + sections, ""},
		{"a name over several lines", "song: >-\n  Ebb\ntempo: 96 bpm\nmeter: 4/4\n" + sections, "", `songs/ebb.yaml: no line can be added after its name; write "program: 1" into it`},
		{"in braces", "{song: Ebb,\ntempo: 96 bpm, meter: 4/4, sections: [{verse: {bars: 4, energy: 2, look: embers}}]}\n", "", `songs/ebb.yaml: no line can be added after its name; write "program: 1" into it`},
	} {
		t.Run(c.name, func(t *testing.T) {
			files := folder(t, "harbour-hall")
			files["sets/november.yaml"] = &fstest.MapFile{Data: []byte("set: November\nsongs: [ebb]\nwalk-in: walk-in\nwalk-out: walk-out\n")}
			files["songs/ebb.yaml"] = &fstest.MapFile{Data: []byte(c.src)}
			show, problems := shows.Load(files, shows.Options{})
			require.Empty(t, problems)
			list, err := shows.NumberSongs(files, show)
			if c.err != "" {
				require.ErrorIs(t, err, shows.ErrNumber)
				assert.ErrorContains(t, err, c.err)
				return
			}
			require.NoError(t, err)
			require.Len(t, list, 1)
			assert.Equal(t, c.want, string(list[0].Source))
		})
	}
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
		return shows.NumberSongs(files, show)
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
