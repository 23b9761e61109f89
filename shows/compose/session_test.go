package compose_test

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"sync/atomic"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/shows"
	"tactus/shows/compose"
	"tactus/shows/showtest"
)

const lanterns = "songs/lanterns.yaml"

// writeDirectly writes files as a test needs them.
func writeDirectly(list []compose.Written) error {
	for _, w := range list {
		if w.Remove {
			if err := os.Remove(w.Path); err != nil {
				return err
			}
			continue
		}
		if err := os.WriteFile(w.Path, w.Source, 0o644); err != nil {
			return err
		}
	}
	return nil
}

// open copies the demo and opens a session on it.
func open(t testing.TB) (showtest.Folder, *compose.Session) {
	t.Helper()
	folder := showtest.NewFolder(t, "../harbour-hall")
	s, err := compose.Open(folder.Dir, compose.Options{Write: writeDirectly})
	require.NoError(t, err)
	require.NotNil(t, s.Show(), s.State().Faults)
	return folder, s
}

// apply makes edits that are written as JSON.
func apply(t testing.TB, s *compose.Session, json string) (compose.State, error) {
	t.Helper()
	edits, err := compose.Decode([]byte(json))
	require.NoError(t, err)
	return s.Apply(s.State().Revision, edits)
}

func energyOf(section, energy string) string {
	return `{"do": "set energy", "song": "songs/lanterns.yaml", "section": ` + section + `, "energy": ` + energy + `}`
}

// What the session compiles is what a run would load from the saved files.
func TestEditSaveAndUndo(t *testing.T) {
	folder, s := open(t)
	before := folder.Read(lanterns)
	state, err := apply(t, s, energyOf("3", "8"))
	require.NoError(t, err)
	assert.Equal(t, compose.State{Revision: 2, Unsaved: []string{lanterns}, Undo: "energy 8 for section 4 of " + lanterns}, state)
	assert.Equal(t, before, folder.Read(lanterns), "nothing is written before it is saved")
	assert.EqualValues(t, 8, s.Show().Program.Songs[1].Sections[3].Energy)

	state, err = s.Save(state.Revision)
	require.NoError(t, err)
	assert.Empty(t, state.Unsaved)
	assert.Equal(t, strings.Replace(before, "energy: 6", "energy: 8", 1), folder.Read(lanterns))
	loaded := showtest.Load(t, os.DirFS(folder.Dir))
	assert.Equal(t, loaded.Program, s.Show().Program)

	state, err = s.Undo(state.Revision)
	require.NoError(t, err)
	assert.Equal(t, []string{lanterns}, state.Unsaved, "the saved file is not what it was before the edit")
	assert.Equal(t, before, string(s.Sources()[lanterns]))
	assert.Equal(t, "", state.Undo)
	assert.Equal(t, "energy 8 for section 4 of "+lanterns, state.Redo)
	state, err = s.Redo(state.Revision)
	require.NoError(t, err)
	assert.Empty(t, state.Unsaved)
	_, err = s.Redo(state.Revision)
	assert.ErrorIs(t, err, compose.ErrNothing)
}

func TestStaleRevisionIsRefused(t *testing.T) {
	_, s := open(t)
	edits, err := compose.Decode([]byte(energyOf("0", "3")))
	require.NoError(t, err)
	_, err = s.Apply(1, edits)
	require.NoError(t, err)
	for name, call := range map[string]func() (compose.State, error){
		"edit": func() (compose.State, error) { return s.Apply(1, edits) },
		"undo": func() (compose.State, error) { return s.Undo(1) }, "redo": func() (compose.State, error) { return s.Redo(1) },
		"save": func() (compose.State, error) { return s.Save(1) }, "discard": func() (compose.State, error) { return s.Discard(1) },
	} {
		state, err := call()
		assert.ErrorIs(t, err, compose.ErrStale, name)
		assert.EqualValues(t, 2, state.Revision, name)
	}
}

// All edits of a request are made, or none.
func TestEditsAreRefusedAsAWhole(t *testing.T) {
	_, s := open(t)
	_, err := apply(t, s, "["+energyOf("0", "3")+","+energyOf("1", "11")+"]")
	var refused *compose.Refused
	require.ErrorAs(t, err, &refused)
	assert.Equal(t, -1, refused.Edit)
	require.Len(t, refused.Problems, 1)
	assert.Equal(t, lanterns, refused.Problems[0].File)
	assert.Contains(t, refused.Error(), "11 is out of range; want an energy, 0 to 10")
	assert.EqualValues(t, 1, s.State().Revision)
	_, err = apply(t, s, "["+energyOf("0", "3")+","+energyOf("7", "1")+"]")
	require.ErrorAs(t, err, &refused)
	assert.Equal(t, 1, refused.Edit)
	assert.Contains(t, err.Error(), "there is no section 8; the song has 7 sections")
	assert.Empty(t, s.State().Unsaved)
}

// What an edit with a long value does is said in short, when it is made and when it is
// refused: the history keeps these words.
func TestWordsAreShort(t *testing.T) {
	_, s := open(t)
	members := `"front truss", "back truss", "left truss", "right truss", "washes", "warmers", "fronts", "stage colour",
		"wash 1", "wash 2", "wash 3", "wash 4", "wash 5", "wash 6", "wash 7", "wash 8", "warmer 1", "warmer 2", "warmer 3", "warmer 4"`
	state, err := apply(t, s, `{"do": "set effect", "effect": "sway", "key": "on", "to": [`+members+`]}`)
	require.NoError(t, err)
	assert.Len(t, []rune(state.Undo), 201)
	_, err = apply(t, s, `{"do": "remove look", "look": "`+strings.Repeat("x", 1000)+`"}`)
	var refused *compose.Refused
	require.ErrorAs(t, err, &refused)
	assert.Len(t, []rune(refused.Words), 201)
}

// A show with faults is opened and repaired; what would add a fault is refused.
func TestBrokenSongIsRepaired(t *testing.T) {
	folder := showtest.NewFolder(t, "../harbour-hall")
	folder.Edit(lanterns, "chorus: {bars: 8, energy: 6", "chorus: {bars: 8, energy: 16")
	folder.Edit(lanterns, "look: embers, fade", "look: ember, fade")
	s, err := compose.Open(folder.Dir, compose.Options{Write: writeDirectly})
	require.NoError(t, err)
	require.Nil(t, s.Show())
	_, problems := shows.Load(os.DirFS(folder.Dir), shows.Options{})
	assert.Equal(t, problems, s.State().Faults, "as the loader says")
	_, err = apply(t, s, energyOf("1", "12"))
	require.ErrorContains(t, err, "12 is out of range")
	state, err := apply(t, s, energyOf("1", "4"))
	require.NoError(t, err, "an edit of another section")
	assert.Len(t, state.Faults, 2)
	_, err = apply(t, s, energyOf("3", "12"))
	require.ErrorContains(t, err, "12 is out of range", "another fault in place of the one that it mends")
	state, err = apply(t, s, energyOf("3", "6"))
	require.NoError(t, err, "the value that does not fit")
	assert.Len(t, state.Faults, 1)
	folder.Write(lanterns, "# Theirs.\n"+folder.Read(lanterns))
	state, err = s.Reread()
	require.NoError(t, err)
	assert.Empty(t, state.Refused)
	assert.Len(t, state.Faults, 1)
	assert.Contains(t, string(s.Sources()[lanterns]), "verse: {bars: 8, energy: 4")
	assert.Equal(t, []string{lanterns}, state.Unsaved)
}

// A repair that lets the loader see further is made, and what it uncovers is told. What an
// edit itself brings about is refused all the same.
func TestRepairUncoversFaults(t *testing.T) {
	folder := showtest.NewFolder(t, "../harbour-hall")
	folder.Edit("rig.yaml", "profile: dimmer-rgbw", "profile: dimmer-rbgw")
	folder.Edit("looks.yaml", "front truss: {colour: main, intensity: 60 %}", "front truss: {colour: main, intensity: 60 %, fan: 4 %}")
	folder.Edit("rig.yaml", "    address: 21", "    address: 15")
	folder.Edit("rig.yaml", "stage, address: 57, ", "stage, ")
	s, err := compose.Open(folder.Dir, compose.Options{Write: writeDirectly})
	require.NoError(t, err)
	before := s.State().Faults
	require.ErrorContains(t, before, `no profile "dimmer-rbgw"`)
	require.NotContains(t, before.Error(), "slot")
	require.NotContains(t, before.Error(), "has fan")

	state, err := apply(t, s, `{"do": "set fixture", "fixture": "wash 1-4", "key": "profile", "to": "dimmer-rgbw"}`)
	require.NoError(t, err, "two faults that were there before")
	require.ErrorContains(t, state.Faults, "both have slot 15 of stage")
	require.NotContains(t, state.Faults.Error(), "dimmer-rbgw")
	state, err = apply(t, s, `{"do": "set address", "fixture": "wash 5-8", "address": 21}`)
	require.NoError(t, err)
	require.NotContains(t, state.Faults.Error(), "slot")

	_, err = apply(t, s, `{"do": "set address", "fixture": "front 1-2", "address": 45}`)
	require.ErrorContains(t, err, "both have slot 45", "it mends one fault and makes another")
	_, err = apply(t, s, `{"do": "set fixture", "fixture": "wash 1-4", "key": "profile", "to": "dimmer"}`)
	require.Error(t, err, "it mends nothing")
	state, err = apply(t, s, `{"do": "set address", "fixture": "front 1-2", "address": 57}`)
	require.NoError(t, err)
	state, err = apply(t, s, `{"do": "set look level", "look": "tide", "on": "front truss", "level": "fan", "to": null}`)
	require.NoError(t, err)
	assert.Empty(t, state.Faults)
	assert.NotNil(t, s.Show())
}

// The loader tells of a clash at the later of two lines, which an edit of the earlier one
// did not write.
func TestRepairThatClashesIsRefused(t *testing.T) {
	folder := showtest.NewFolder(t, "../harbour-hall")
	folder.Edit("rig.yaml", "    address: 21\n", "")
	s, err := compose.Open(folder.Dir, compose.Options{})
	require.NoError(t, err)
	require.ErrorContains(t, s.State().Faults, `"address" is missing`)
	_, err = apply(t, s, `{"do": "set address", "fixture": "wash 5-8", "address": 33}`)
	require.ErrorContains(t, err, "wash 6 and warmer 1 both have slot 37")
	state, err := apply(t, s, `{"do": "set address", "fixture": "wash 5-8", "address": 21}`)
	require.NoError(t, err)
	assert.Empty(t, state.Faults)
}

func TestDemoIsNotSaved(t *testing.T) {
	s, err := compose.Open("", compose.Options{Files: shows.Demo(), Write: writeDirectly})
	require.NoError(t, err)
	state, err := apply(t, s, energyOf("0", "3"))
	require.NoError(t, err)
	_, err = s.Save(state.Revision)
	assert.ErrorIs(t, err, compose.ErrNotWritable)
	_, err = compose.Open(filepath.Join(t.TempDir(), "nowhere"), compose.Options{})
	assert.Error(t, err)
}

// While something is dragged, its steps are one change.
func TestAmendedEditIsUndoneAtOnce(t *testing.T) {
	folder, s := open(t)
	_, err := apply(t, s, energyOf("0", "5"))
	require.NoError(t, err)
	first := string(s.Sources()[lanterns])
	state, err := apply(t, s, energyOf("3", "7"))
	require.NoError(t, err)
	amend := func(energy int) {
		state, err = s.Amend(state.Revision, []compose.Edit{&compose.SetEnergy{Song: lanterns, Section: 3, Energy: energy}})
		require.NoError(t, err)
	}
	amend(8)
	amend(9)
	assert.Equal(t, "energy 9 for section 4 of "+lanterns, state.Undo)
	state, err = s.Undo(state.Revision)
	require.NoError(t, err)
	assert.Equal(t, first, string(s.Sources()[lanterns]))
	state, err = s.Redo(state.Revision)
	require.NoError(t, err)
	assert.Contains(t, string(s.Sources()[lanterns]), "chorus: {bars: 8, energy: 9")
	amend(6) // as it was: no change is left
	assert.Equal(t, first, string(s.Sources()[lanterns]))
	assert.Equal(t, "energy 5 for section 1 of "+lanterns, state.Undo)
	state, err = s.Save(state.Revision)
	require.NoError(t, err)
	amend(8) // what is saved stays a change of its own
	state, err = s.Undo(state.Revision)
	require.NoError(t, err)
	assert.Equal(t, folder.Read(lanterns), string(s.Sources()[lanterns]))
	assert.Empty(t, state.Unsaved)
}

// Two people edit at once: of two edits of one revision, one is made and the other is told
// that it is stale.
func TestEditsFromSeveralGoroutines(t *testing.T) {
	_, s := open(t)
	const people, each = 4, 5
	var made, stale atomic.Int64
	var all sync.WaitGroup
	for p := range people {
		all.Go(func() {
			for i := range each {
				view := s.View()
				_, err := s.Apply(view.State.Revision, []compose.Edit{&compose.SetEnergy{Song: lanterns, Section: p, Energy: 4 + i}})
				if errors.Is(err, compose.ErrStale) {
					stale.Add(1)
				} else if assert.NoError(t, err) {
					made.Add(1)
				}
			}
		})
	}
	all.Wait()
	assert.EqualValues(t, people*each, made.Load()+stale.Load())
	state, undone := s.State(), uint64(0)
	for ; state.Undo != ""; undone++ {
		var err error
		state, err = s.Undo(state.Revision)
		require.NoError(t, err)
	}
	assert.Equal(t, 1+2*undone, state.Revision)
	assert.Empty(t, state.Unsaved)
}
