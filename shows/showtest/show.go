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

// Demo returns the built-in show.
func Demo(t testing.TB) *shows.Show {
	t.Helper()
	return Load(t, shows.Demo())
}

// Load returns the show of some files, which must have no faults.
func Load(t testing.TB, files fs.FS) *shows.Show {
	t.Helper()
	show, problems := shows.Load(files, shows.Options{})
	require.Empty(t, problems)
	return show
}

// Files returns the files of folders, to be changed. A file of a later folder
// replaces one of the same name.
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

// SlideShow returns a folder with the show of the folder plain, and in it one song
// whose cues send messages; a bar takes 0.8 s.
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

// Place draws a place in a show.
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
