package plan_test

import (
	"context"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/clock"
	"tactus/shows/plan"
	"tactus/shows/showtest"
)

// A song measured by itself has the light that it has in the night: the same findings, and
// strengths that differ by no more than a place in an effect's cycle makes.
func TestInShortIsAsInTheNight(t *testing.T) {
	show := showtest.Demo(t)
	night, err := plan.Measure(t.Context(), show, plan.Options{})
	require.NoError(t, err)
	for i, index := range show.Program.SetList {
		short, err := plan.Measure(t.Context(), show, plan.Options{Songs: []int32{index}, InShort: true})
		require.NoError(t, err)
		require.Len(t, short.Songs, 1)
		want, have := &night.Songs[i], &short.Songs[0]
		assert.Equal(t, want.Before, have.Before, want.Name)
		assert.Equal(t, want.Findings, have.Findings, want.Name)
		require.Len(t, have.Sections, len(want.Sections))
		for k := range want.Sections {
			assert.InDelta(t, want.Sections[k].Strength, have.Sections[k].Strength, 0.1, "%s, %s", want.Name, want.Sections[k].Name)
			assert.InDelta(t, want.Sections[k].Faces, have.Sections[k].Faces, 0.1, "%s, %s", want.Name, want.Sections[k].Name)
		}
	}
}

// Kept heads that only the first song of a set sets are lit in the last song too when that
// one is measured by itself.
func TestInShortHasKeptLightOfEarlierSongs(t *testing.T) {
	song := func(name, set string) string {
		return "song: " + name + "\ntempo: 120 bpm\nmeter: 4/4\nsections:\n  - verse: {bars: 4, energy: 3, look: low" + set + "}\n"
	}
	files := showtest.Yard(song("One", ", set: {front: {intensity: 60 %}}"))
	for name, src := range map[string]string{
		"songs/two.yaml": song("Two", ""), "songs/three.yaml": song("Three", ""),
		"sets/night.yaml": "set: Night\nsongs: [new, two, three]\n",
	} {
		files[name] = &fstest.MapFile{Data: []byte(src)}
	}
	show := showtest.Load(t, files)
	last := show.Program.SetList[2]
	short, err := plan.Measure(t.Context(), show, plan.Options{Songs: []int32{last}, InShort: true})
	require.NoError(t, err)
	assert.Greater(t, short.Songs[0].Sections[0].Faces, 30.0)
}

func TestInShortIsCancelled(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	_, err := plan.Measure(ctx, showtest.Demo(t), plan.Options{Songs: []int32{0}, InShort: true})
	assert.ErrorIs(t, err, context.Canceled)
}

// BenchmarkInShort measures each song of the demo by itself, as the page does after an
// edit.
func BenchmarkInShort(b *testing.B) {
	show, base := showtest.Demo(b), clock.NewBase()
	for i := range show.Program.Songs {
		b.Run(show.Program.Songs[i].Name, func(b *testing.B) {
			began := base.Now()
			for b.Loop() {
				_, err := plan.Measure(b.Context(), show, plan.Options{Songs: []int32{int32(i)}, InShort: true})
				require.NoError(b, err)
			}
			b.ReportMetric(float64(base.Now()-began)/float64(b.N)/float64(clock.Millisecond), "ms/song")
		})
	}
}
