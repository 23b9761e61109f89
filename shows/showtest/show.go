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

// Yard returns the files of a small show, quick to compile, with a song in
// songs/new.yaml.
func Yard(song string) fstest.MapFS {
	return fstest.MapFS{
		"show.yaml": {Data: []byte("show: Yard\n")},
		"rig.yaml": {Data: []byte(`venue: Yard
universes: {u: {virtual: yes}}
fixtures:
  lamp 1-2: {profile: dimmer-rgb, universe: u, address: 1, from: [-1 m, 0 m, 3 m], to: [1 m, 0 m, 3 m]}
  front: {profile: dimmer, universe: u, address: 9, at: [0 m, -3 m, 3 m]}
groups: {lamps: lamp 1-2}
keep: front
`)},
		"looks.yaml": {Data: []byte(`palette: {main: "#2f6fd0", second: "#1fa39a", accent: "#ffb040", warm: "#ffd9a8"}
looks:
  "off": {set: {lamps: {intensity: 2 %}}}
  low: {fade: 1 bar, set: {lamps: {colour: main, intensity: 30 %}}, effects: slow}
  mid: {set: {lamps: {colour: second, intensity: 60 %}}, effects: [slow, tint]}
  high: {set: {lamps: {colour: warm, intensity: 100 %}}, effects: quick}
effects:
  slow: {on: lamps, wave: sine, moves: intensity, period: 4 bars}
  tint: {on: lamps, wave: sine, moves: colour, from: main, to: second, period: 2 bars}
  quick: {on: lamps, wave: decay, moves: intensity, period: 1 beat, depth: 40 %}
ladder:
  rungs:
    - {energy: 1, look: low}
    - {energy: 3, look: mid, effects: slow}
    - {energy: 3, look: mid, effects: tint}
    - {energy: 6, look: mid}
    - {energy: 8, look: high}
  begin: {front: {intensity: 50 %}}
  breath: "off"
  breakdown: low
  spoken: {look: low, effects: none, set: {front: {intensity: 70 %}}}
  end: "off"
`)},
		"songs/new.yaml": {Data: []byte(song)},
	}
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
