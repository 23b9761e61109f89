package showtest

import (
	"io/fs"
	"os"
	"path/filepath"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tactus/clock"
	"tactus/engine"
	"tactus/engine/night"
	"tactus/shows"
)

// Demo returns the built-in demo show.
func Demo(t testing.TB) *shows.Show {
	t.Helper()
	return Load(t, shows.Demo())
}

// Load loads a show from files, and fails the test if they have faults.
func Load(t testing.TB, files fs.FS) *shows.Show {
	t.Helper()
	show, problems := shows.Load(files, shows.Options{})
	require.Empty(t, problems)
	return show
}

// Files copies the files of folders into memory, where a test may change them. If two
// folders have a file of the same name, the later folder's file counts.
func Files(t testing.TB, folders ...fs.FS) fstest.MapFS {
	t.Helper()
	files := fstest.MapFS{}
	for _, folder := range folders {
		require.NoError(t, fs.WalkDir(folder, ".", func(name string, e fs.DirEntry, err error) error {
			if err != nil || e.IsDir() {
				return err
			}
			src, err := fs.ReadFile(folder, name)
			files[name] = &fstest.MapFile{Data: src, Mode: 0o644}
			return err
		}))
	}
	return files
}

// SlideShow returns a copy of the show folder plain, with a song in songs/song.yaml that
// sends MIDI and OSC messages. A bar of the song takes 0.8 s.
func SlideShow(t testing.TB, plain string) string {
	t.Helper()
	dir := t.TempDir()
	require.NoError(t, os.CopyFS(dir, os.DirFS(plain)))
	song := `song: Song
tempo: 300 bpm
meter: 4/4
sections:
  - verse: {bars: 500, energy: 3, look: "on", send: [{midi: program 5 on 2}, {osc: /slides/show 1}]}
  - chorus: {bars: 8, energy: 6, look: "off", send: [{midi: control 7 to 100 on 2}, {osc: "/slides/title 'it is 5' 0.5"}]}
cues:
  - {at: "verse, bar 3", send: [{midi: note 60 on 2}, {osc: /slides/show 2}]}
`
	require.NoError(t, os.WriteFile(filepath.Join(dir, "songs", "song.yaml"), []byte(song), 0o600))
	return dir
}

// Place draws a random place in a show: a look, or a beat of a song.
func Place(t *rapid.T, show *shows.Show) night.Place {
	if rapid.IntRange(0, 9).Draw(t, "kind") == 0 {
		look := rapid.IntRange(0, len(show.Program.Looks)-1).Draw(t, "look")
		return night.Place{Song: engine.None, Look: int32(look), Section: engine.None, Pass: 1}
	}
	at := night.Place{Song: int32(rapid.IntRange(0, len(show.Program.Songs)-1).Draw(t, "song")), Look: engine.None}
	song := &show.Program.Songs[at.Song]
	at.Section = int32(rapid.IntRange(0, len(song.Sections)-1).Draw(t, "section"))
	s := &song.Sections[at.Section]
	at.At = s.Start + clock.Beat(rapid.Int64Range(0, int64(s.Length)-1).Draw(t, "at"))
	at.Pass = rapid.IntRange(1, 4).Draw(t, "pass")
	return at
}
