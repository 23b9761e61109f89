package showtest_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/engine"
	"tactus/shows"
	"tactus/shows/showtest"
)

// A rehearsal goes on with another rig: with more fixtures and universes, with other
// addresses, with none of the heads that it had, and back. A song that
// is entered then has the light of the rig that plays.
func TestRehearsalGoesOnWithAnotherRig(t *testing.T) {
	f := showtest.NewFolder(t, "../harbour-hall")
	demo := showtest.Demo(t)
	f.Edit("rig.yaml", "  house: {sacn: 2, to: [127.0.0.1]}\n", "  house: {sacn: 2, to: [127.0.0.1]}\n  new: {sacn: 3}\n")
	f.Edit("rig.yaml", "address: 21\n", "address: 101\n")
	f.Edit("rig.yaml", "groups:\n", "  spot 1-2: {profile: rgb, universe: new, address: 1, from: [-1 m, 2 m, 4 m], to: [1 m, 2 m, 4 m]}\n\ngroups:\n")
	f.Edit("rig.yaml", "washes: [front truss, back truss]", "washes: [front truss, back truss, spot 1-2]")
	files, err := shows.Open(f.Dir)
	require.NoError(t, err)
	more := showtest.Load(t, files)
	yard := showtest.Load(t, showtest.Yard("song: Gates\ntempo: 120 bpm\nmeter: 4/4\nsections:\n  - verse: {bars: 4, energy: 3, look: mid}\n"))

	_, err = engine.NewReload(demo.Program, more.Program)
	require.ErrorIs(t, err, engine.ErrRestart, "lamps would take slots for others")
	stage := newPlaying(demo.Program)
	for range 50 {
		stage.frame()
	}
	for _, to := range []*shows.Show{more, yard, demo, yard, more, demo} {
		r, err := engine.NewRehearsalReload(stage.engine.Program(), to.Program)
		require.NoError(t, err)
		require.True(t, stage.engine.Reload(r, stage.pos))
		for range 600 {
			stage.frame()
		}
		require.Len(t, stage.engine.SentLight(), len(to.Program.Heads))
		assert.Len(t, stage.engine.Frame(stage.pos), to.Program.Patch.Universes())
	}
	fresh := newPlaying(demo.Program)
	fresh.pos = stage.pos
	for _, p := range []*playing{stage, fresh} { // stopped, and begun again
		p.pos.Playing = false
		p.frame()
		p.engine.Do(engine.Command{Kind: engine.SelectSong}, p.pos)
		p.pos.Beat, p.pos.Pulse, p.pos.Playing, p.pos.Jumps = 0, 0, true, p.pos.Jumps+1
		for range 600 {
			p.frame()
		}
	}
	for h, head := range demo.Program.Heads {
		if !head.Keep { // those that songs leave alone were gone, and nothing has named them since
			assert.Equal(t, fresh.engine.SentLight()[h], stage.engine.SentLight()[h], head.Name)
		}
	}
}
