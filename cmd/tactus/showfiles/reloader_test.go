package showfiles

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/engine"
	"tactus/shows"
	"tactus/shows/draft"
	"tactus/shows/showtest"
)

func reloaderOf(t *testing.T, f showtest.Folder) *Reloader {
	t.Helper()
	files, err := Open(f.Dir)
	require.NoError(t, err)
	return NewReloader(f.Dir, "", showtest.Load(t, files))
}

// looked looks twice: the first look sees a change, the second that it stands.
func looked(t *testing.T, r *Reloader) *Edit {
	t.Helper()
	if e := r.check(); e != nil {
		require.Fail(t, "taken at the first look", "%q", e.Lines())
	}
	return r.check()
}

func wantLines(t *testing.T, e *Edit, phrases ...string) {
	t.Helper()
	require.NotNil(t, e, "nothing found; want %q", phrases)
	all := strings.Join(e.Lines(), "\n")
	for _, p := range phrases {
		assert.Contains(t, all, p)
	}
}

func TestReloadTakesAnEditOnce(t *testing.T) {
	f := showtest.NewFolder(t, "../../../testdata/shows/daw")
	r := reloaderOf(t, f)
	if e := looked(t, r); e != nil {
		require.Fail(t, "nothing was edited", "%q", e.Lines())
	}
	f.Edit("looks.yaml", "intensity: 10 %", "intensity: 60 %") // of the same size
	e := looked(t, r)
	wantLines(t, e, "taken over")
	require.NotNil(t, e.Reload, "no reload")
	require.Same(t, r.program, e.Reload.Program(), "no reload")
	if e := looked(t, r); e != nil {
		assert.Fail(t, fmt.Sprintf("told twice: %q", e.Lines()))
	}
	f.Write("songs/third.yaml", strings.Replace(f.Read("songs/first.yaml"), "song: First\nprogram: 1", "song: Third\nprogram: 3", 1))
	wantLines(t, looked(t, r), "taken over")
	f.Edit("looks.yaml", "twenty", "score")
	f.Edit("songs/first.yaml", "twenty", "score")
	f.Edit("songs/third.yaml", "twenty", "score")
	wantLines(t, looked(t, r), "taken over", `no longer in the show: look "twenty"`)
}

// Colours are not solved again for heads that are as they were.
func TestReloadKeepsMixers(t *testing.T) {
	f := showtest.NewFolder(t, "../../../shows/harbour-hall")
	r := reloaderOf(t, f)
	before := r.program.Patch.Mixer(0)
	require.NotNil(t, before)
	for _, energy := range []string{"energy: 4", "energy: 5"} {
		f.Edit("songs/lanterns.yaml", "energy: 3", energy)
		e := looked(t, r)
		wantLines(t, e, "taken over")
		assert.Same(t, before, e.Show.Program.Patch.Mixer(0))
		f.Edit("songs/lanterns.yaml", energy, "energy: 3")
		wantLines(t, looked(t, r), "taken over")
	}
}

// A file that is being written is not taken, however much of it would do.
func TestReloadWaitsForTheWholeFile(t *testing.T) {
	f := showtest.NewFolder(t, "../../../testdata/shows/daw")
	r := reloaderOf(t, f)
	whole := f.Read("looks.yaml")
	for i := 1; i < len(whole); i += len(whole) / 20 {
		require.NoError(t, os.WriteFile(filepath.Join(f.Dir, "looks.yaml"), []byte(whole[:i]), 0o644))
		if e := r.check(); e != nil {
			require.Fail(t, fmt.Sprintf("%d bytes of %d were taken: %q", i, len(whole), e.Lines()))
		}
	}
	f.Write("looks.yaml", whole+"# done\n")
	wantLines(t, looked(t, r), "taken over")
}

// Every fault is told, with its line, once for each content; nothing changes
// until the files are whole, and then what they say is taken.
func TestReloadTellsFaults(t *testing.T) {
	f := showtest.NewFolder(t, "../../../testdata/shows/daw")
	r := reloaderOf(t, f)
	playing, whole := r.program, f.Read("looks.yaml")
	f.Edit("looks.yaml", "intensity: 10 %", "intensity: 10")
	f.Edit("songs/second.yaml", "look: sixty", "look: sixteen")
	wantLines(t, looked(t, r), "looks.yaml:3:", "songs/second.yaml:", "no unit", `no look "sixteen"`, "faults: 2")
	assert.Same(t, playing, r.program, "a faulty show plays")
	if e := looked(t, r); e != nil {
		assert.Fail(t, fmt.Sprintf("told twice: %q", e.Lines()))
	}
	f.Edit("looks.yaml", "intensity: 20 %", "intensity: twenty")
	wantLines(t, looked(t, r), "faults: 3", "looks.yaml:4:")
	f.Edit("songs/second.yaml", "look: sixteen", "look: sixty")
	wantLines(t, looked(t, r), "faults: 2")
	f.Write("looks.yaml", whole)
	e := looked(t, r)
	wantLines(t, e, "as they play")
	if assert.Nil(t, e.Reload, "a reload without a change") {
		assert.Same(t, playing, r.program, "a reload without a change")
	}
	require.NoError(t, os.RemoveAll(filepath.Join(f.Dir, "songs")))
	if e := looked(t, r); assert.NotNil(t, e, "a show without songs is taken") {
		assert.NotNil(t, e.Faults, "a show without songs is taken")
	}
}

// What is set up once at the start is named, and nothing else is taken with it.
func TestReloadAsksForARestart(t *testing.T) {
	for want, change := range map[string]func(f showtest.Folder){
		`fixture "pulse" has another address`: func(f showtest.Folder) { f.Edit("rig.yaml", "address: 2}", "address: 7}") },
		`fixture "pulse 2" is new`: func(f showtest.Folder) {
			f.Edit("rig.yaml", "groups:", "  pulse 2: {profile: dimmer, universe: bench, address: 9}\ngroups:")
		},
		"universes": func(f showtest.Folder) { f.Edit("rig.yaml", "sacn: 1,", "sacn: 11,") },
		"on exit":   func(f showtest.Folder) { f.Edit("show.yaml", "on exit: terminate", "on exit: hold") },
	} {
		f := showtest.NewFolder(t, "../../../testdata/shows/daw")
		r := reloaderOf(t, f)
		playing := r.program
		change(f)
		f.Edit("looks.yaml", "intensity: 10 %", "intensity: 60 %")
		e := looked(t, r)
		wantLines(t, e, want, "restart", "nothing changes")
		if assert.Nil(t, e.Reload, "%s: taken all the same", want) {
			assert.Same(t, playing, r.program, "%s: taken all the same", want)
		}
	}
}

// A song with faults stays as it was while everything else is taken over; one that is
// new is left out. What is put right is taken over, and so is a song that goes back.
func TestReloadLeavesOneSongBehind(t *testing.T) {
	f := showtest.NewFolder(t, "../../../testdata/shows/daw")
	r := reloaderOf(t, f)
	whole := f.Read("songs/second.yaml")
	f.Edit("songs/second.yaml", "look: sixty", "look: twenty")
	wantLines(t, looked(t, r), "have changed: taken over")
	before := r.program
	f.Edit("looks.yaml", "intensity: 10 %", "intensity: 60 %")
	f.Edit("songs/second.yaml", "look: twenty", "look: sixteen")
	f.Write("songs/third.yaml", "song: Third\n")
	e := looked(t, r)
	wantLines(t, e, "taken over, except for songs with faults", `no look "sixteen"`, "songs/second.yaml:", "songs/third.yaml:")
	require.NotNil(t, e.Reload)
	assert.Nil(t, e.Faults)
	assert.Len(t, r.program.Songs, len(before.Songs), "the new song with faults is in the show")
	assert.Equal(t, "twenty", r.program.Songs[1].Cues[1].Name, "the song does not stay as it was")
	assert.NotEqual(t, before.Looks, r.program.Looks, "the looks are not taken over")
	if e := looked(t, r); e != nil {
		assert.Fail(t, fmt.Sprintf("told twice: %q", e.Lines()))
	}
	assert.NotContains(t, strings.Join(e.Lines(), "\n"), "do not fit")
	// The song's edit before the fault stays: not what is on disk, and not what was first.
	f.Edit("looks.yaml", "intensity: 20 %", "intensity: 25 %")
	wantLines(t, looked(t, r), "taken over, except for")
	assert.Equal(t, "twenty", r.program.Songs[1].Cues[1].Name)
	require.NoError(t, os.Remove(filepath.Join(f.Dir, "songs/third.yaml")))
	f.Write("songs/second.yaml", whole)
	e = looked(t, r)
	wantLines(t, e, "have changed: taken over")
	assert.Empty(t, e.SongFaults)

	// The song as it plays does not fit the other files either: nothing changes.
	playing := r.program
	f.Edit("looks.yaml", "sixty", "sixteen")
	f.Edit("songs/first.yaml", "look: ", "look: not ")
	e = looked(t, r)
	wantLines(t, e, "do not fit")
	assert.Same(t, playing, r.program)
}

// A song with faults alone is no edit of what plays: nothing is taken over, and nothing
// is when the fault goes again.
func TestReloadWithOnlyABrokenSongChangesNothing(t *testing.T) {
	f := showtest.NewFolder(t, "../../../testdata/shows/daw")
	r := reloaderOf(t, f)
	f.Edit("looks.yaml", "intensity: 20 %", "intensity: 25 %")
	f.Edit("songs/second.yaml", "look: sixty", "look: sixteen")
	wantLines(t, looked(t, r), "taken over, except for songs with faults (faults: 1)")
	playing := r.program
	unchanged := func(want string) {
		t.Helper()
		e := looked(t, r)
		wantLines(t, e, want)
		assert.Nil(t, e.Reload)
		assert.Nil(t, e.Show)
		assert.Same(t, playing, r.program)
	}
	f.Edit("songs/second.yaml", "look: sixteen", "look: seventeen")
	unchanged("do not fit (faults: 1); nothing changes")
	f.Write("songs/third.yaml", "song: Third\n")
	unchanged("nothing changes")
	require.NoError(t, os.Remove(filepath.Join(f.Dir, "songs/third.yaml")))
	f.Edit("songs/second.yaml", "look: seventeen", "look: sixty")
	unchanged("as they play")
	f.Edit("songs/first.yaml", "look: ten", "look: tan")
	unchanged(`no look "tan"`)
}

// A section that is renamed leaves drafted cues at the old name: the song stays as it
// was, the rig's edits go on, and the report says what writes the cues anew.
func TestReloadAfterASectionIsRenamed(t *testing.T) {
	f := showtest.NewFolder(t, "../../../shows/harbour-hall")
	require.NoError(t, os.RemoveAll(filepath.Join(f.Dir, "sets")))
	f.Write("songs/new.yaml", "song: New\ntempo: 120 bpm\nmeter: 4/4\nsections:\n  - verse: {bars: 8, energy: 2}\n  - chorus: {bars: 8, energy: 8}\n")
	files, err := Open(f.Dir)
	require.NoError(t, err)
	d, err := draft.New(files, "songs/new.yaml")
	require.NoError(t, err)
	f.Write("songs/new.yaml", string(d.Source))
	r := reloaderOf(t, f)
	f.Edit("songs/new.yaml", "- chorus: {", "- refrain: {")
	e := looked(t, r)
	wantLines(t, e, "do not fit", `"chorus"`, "songs/new.yaml has drafted lines; 'tactus draft'")
	f.Edit("rig.yaml", "floors: {fronts: 30 %}", "floors: {fronts: 20 %}")
	e = looked(t, r)
	wantLines(t, e, "taken over, except for songs with faults", `"chorus"`, "songs/new.yaml has drafted lines; 'tactus draft'")
	var sections []string
	for _, song := range r.program.Songs {
		if song.Name == "New" {
			for _, s := range song.Sections {
				sections = append(sections, s.Name)
			}
		}
	}
	assert.Equal(t, []string{"verse", "chorus"}, sections, "the song does not stay as it was")
	assert.InDelta(t, 0.2, r.program.Floors[0].Level, 1e-9, "the rig's edit is refused")
}

// The demo that is built in has no files to watch.
func TestReloadLeavesTheDemo(t *testing.T) {
	assert.Nil(t, NewReloader(Demo, "", &shows.Show{Program: &engine.Program{}}), "the demo is watched")
}
